//! The settings of the mesh method: power, rings, trend.

/// Power of the inverse distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Power {
    /// 1/d
    P1,
    /// 1/d^1.5
    P1_5,
    /// 1/d^2
    P2,
    /// 1/d^3
    P3,
    /// 1/d^4
    P4,
}

/// Squared distances are raised to this floor, so that a place on a sample needs no branch: the sample's weight is then
/// so large that the others vanish in rounding at every power.
const FLOOR_M2: f64 = 1e-60;

impl Power {
    /// Every power tried.
    pub const ALL: [Power; 5] = [Power::P1, Power::P1_5, Power::P2, Power::P3, Power::P4];

    /// The exponent.
    pub fn exponent(self) -> f64 {
        match self {
            Power::P1 => 1.0,
            Power::P1_5 => 1.5,
            Power::P2 => 2.0,
            Power::P3 => 3.0,
            Power::P4 => 4.0,
        }
    }

    /// The power with this exponent, if it is one of the five.
    pub fn from_exponent(exponent: f64) -> Option<Self> {
        Power::ALL.into_iter().find(|power| power.exponent() == exponent)
    }

    /// Weight at a squared distance in m2, by square root and multiplication only.
    #[inline(always)]
    pub fn weight(self, d_m2: f64) -> f64 {
        let d2 = d_m2.max(FLOOR_M2);
        match self {
            Power::P1 => 1.0 / d2.sqrt(),
            Power::P1_5 => {
                let d = d2.sqrt();
                1.0 / (d * d.sqrt())
            }
            Power::P2 => 1.0 / d2,
            Power::P3 => 1.0 / (d2 * d2.sqrt()),
            Power::P4 => 1.0 / (d2 * d2),
        }
    }
}

/// One setting of the mesh method.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeshSetting {
    /// Power of the inverse distance.
    pub power: Power,
    /// Mesh edges from a corner that its neighborhood reaches, 1 to 3.
    pub rings: usize,
    /// Share of each sample's slope that is carried along, 0 = none.
    pub trend_share: f64,
}

impl MeshSetting {
    /// One ring, power 2, no trend: used untuned below ten sites.
    pub const PLAIN: MeshSetting = MeshSetting { power: Power::P2, rings: 1, trend_share: 0.0 };

    /// Trend shares tried.
    pub const TREND_SHARES: [f64; 4] = [0.0, 0.25, 0.5, 0.75];
    /// The largest neighborhood tried.
    pub const MAX_RINGS: usize = 3;

    /// All 60 settings, plainest first: fewest rings, then least trend, then the power nearest 2.
    pub fn all_plainest_first() -> Vec<MeshSetting> {
        let mut powers = Power::ALL;
        powers.sort_by(|a, b| (a.exponent() - 2.0).abs().total_cmp(&(b.exponent() - 2.0).abs()));
        let mut settings = Vec::with_capacity(60);
        for rings in 1..=Self::MAX_RINGS {
            for trend_share in Self::TREND_SHARES {
                settings.extend(powers.map(|power| MeshSetting { power, rings, trend_share }));
            }
        }
        settings
    }
}

impl std::fmt::Display for MeshSetting {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} ring{}, power {}", self.rings, if self.rings == 1 { "" } else { "s" }, self.power.exponent())?;
        if self.trend_share > 0.0 {
            write!(f, ", slope share {}", self.trend_share)?;
        }
        Ok(())
    }
}
