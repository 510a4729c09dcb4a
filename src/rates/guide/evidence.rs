//! How far a figure can be trusted: who read it where.

/// How a figure was come by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Evidence {
    /// Read in the source named.
    Read,
    /// Read in a secondary copy that reports the source.
    Secondary,
    /// From memory; in no source at hand.
    Memory,
    /// Arithmetic on figures read in their source.
    ArithmeticOnRead,
    /// Arithmetic on figures of a secondary copy.
    ArithmeticOnSecondary,
    /// Arithmetic on figures from memory.
    ArithmeticOnMemory,
    /// The user's own figure.
    Own,
}

impl Evidence {
    /// All, as they are listed.
    pub const ALL: [Evidence; 7] = [
        Evidence::Read,
        Evidence::Secondary,
        Evidence::Memory,
        Evidence::ArithmeticOnRead,
        Evidence::ArithmeticOnSecondary,
        Evidence::ArithmeticOnMemory,
        Evidence::Own,
    ];

    /// The tag in a guide file and in print.
    pub fn tag(self) -> &'static str {
        match self {
            Evidence::Read => "R",
            Evidence::Secondary => "R2",
            Evidence::Memory => "M",
            Evidence::ArithmeticOnRead => "A(R)",
            Evidence::ArithmeticOnSecondary => "A(R2)",
            Evidence::ArithmeticOnMemory => "A(M)",
            Evidence::Own => "own",
        }
    }

    /// What the tag says.
    pub fn words(self) -> &'static str {
        match self {
            Evidence::Read => "read in the source named",
            Evidence::Secondary => "read in a secondary copy of it",
            Evidence::Memory => "from memory",
            Evidence::ArithmeticOnRead => "arithmetic on R",
            Evidence::ArithmeticOnSecondary => "arithmetic on R2",
            Evidence::ArithmeticOnMemory => "arithmetic on M",
            Evidence::Own => "the user's own",
        }
    }

    /// Whether nothing but memory stands behind the figure.
    pub fn is_memory(self) -> bool {
        matches!(self, Evidence::Memory | Evidence::ArithmeticOnMemory)
    }

    /// Reads one tag.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|evidence| evidence.tag() == text)
    }
}

/// What stands behind a group of figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Backing {
    /// Tags of the group, never none.
    pub tags: Vec<Evidence>,
    /// Where it was read, or what it agrees with.
    pub source: Option<String>,
}

impl Backing {
    /// Reads tags as `"R"` or `"R2, M"`.
    pub fn parse_tags(text: &str) -> Option<Vec<Evidence>> {
        text.split(',').map(|tag| Evidence::parse(tag.trim())).collect()
    }

    /// As printed behind a figure: `[R2, M]`.
    pub fn text(&self) -> String {
        let tags: Vec<&str> = self.tags.iter().map(|evidence| evidence.tag()).collect();
        format!("[{}]", tags.join(", "))
    }
}

/// Figures with what stands behind them.
#[derive(Debug, Clone, PartialEq)]
pub struct Backed<T> {
    /// The figures.
    pub value: T,
    /// What stands behind them.
    pub backing: Backing,
}
