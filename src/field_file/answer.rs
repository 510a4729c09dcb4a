//! Three kinds of answer: a value, still open (`"?"`), honestly unknown (`"unknown"`). Absent is none of them.

/// An answer of the field file.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer<T> {
    /// A value.
    Given(T),
    /// `"?"`: still to be answered.
    Open,
    /// `"unknown"`: what needs it is left out, and said.
    Unknown,
    /// The key is not in the file.
    Absent,
}

impl<T> Answer<T> {
    /// The value, if there is one.
    pub fn given(self) -> Option<T> {
        match self {
            Answer::Given(value) => Some(value),
            _ => None,
        }
    }

    /// Another value of the same answer; `None` from `f` reads as absent (its fault was told).
    pub fn and_then<U>(self, f: impl FnOnce(T) -> Option<U>) -> Answer<U> {
        match self {
            Answer::Given(value) => f(value).map_or(Answer::Absent, Answer::Given),
            Answer::Open => Answer::Open,
            Answer::Unknown => Answer::Unknown,
            Answer::Absent => Answer::Absent,
        }
    }
}
