//! What a ton of a lime recommendation means. Tons of one basis are not tons of another.

/// The lime that a recommendation is stated in, short tons of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimeBasis {
    /// Lime of 100 score, Oregon.
    OregonScore100,
    /// Fine-sized lime of 100 % calcium carbonate equivalent.
    Cce100,
    /// Ground agricultural lime of 90 % neutralizing value.
    AgLime90,
    /// Lime of 2,000 lb effective neutralizing power a short ton, Ohio.
    OhioEnp2000,
    /// Lime of 100 % effective neutralizing value, New York.
    NewYorkEnv100,
    /// Lime of 800 lb effective neutralizing material a short ton, Missouri.
    MissouriEnm800,
    /// Lime of 2,000 lb effective neutralizing power a short ton, Minnesota.
    MinnesotaEnp2000,
}

impl LimeBasis {
    /// All.
    pub const ALL: [LimeBasis; 7] = [
        LimeBasis::OregonScore100,
        LimeBasis::Cce100,
        LimeBasis::AgLime90,
        LimeBasis::OhioEnp2000,
        LimeBasis::NewYorkEnv100,
        LimeBasis::MissouriEnm800,
        LimeBasis::MinnesotaEnp2000,
    ];

    /// Name in a guide file.
    pub fn name(self) -> &'static str {
        match self {
            LimeBasis::OregonScore100 => "oregon-score-100",
            LimeBasis::Cce100 => "cce-100",
            LimeBasis::AgLime90 => "ag-lime-90",
            LimeBasis::OhioEnp2000 => "ohio-enp-2000",
            LimeBasis::NewYorkEnv100 => "new-york-env-100",
            LimeBasis::MissouriEnm800 => "missouri-enm-800",
            LimeBasis::MinnesotaEnp2000 => "minnesota-enp-2000",
        }
    }

    /// In sentences: "short tons of ...".
    pub fn words(self) -> &'static str {
        match self {
            LimeBasis::OregonScore100 => "100-score lime (Oregon)",
            LimeBasis::Cce100 => "fine-sized lime of 100 % CCE",
            LimeBasis::AgLime90 => "ag lime of 90 % neutralizing value",
            LimeBasis::OhioEnp2000 => "lime of 2,000 lb ENP a ton (Ohio)",
            LimeBasis::NewYorkEnv100 => "lime of 100 % ENV (New York)",
            LimeBasis::MissouriEnm800 => "lime of 800 lb ENM a ton (Missouri)",
            LimeBasis::MinnesotaEnp2000 => "lime of 2,000 lb ENP a ton (Minnesota)",
        }
    }

    /// Reads a name of a guide file.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|basis| basis.name() == text)
    }

    /// Pure calcium carbonate that a pound of this lime stands for, lb; what finer grinding does is not counted.
    pub fn caco3_share(self) -> f64 {
        if self == LimeBasis::AgLime90 { 0.9 } else { 1.0 }
    }
}
