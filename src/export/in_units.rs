//! [`InUnits`]: words told in both systems of units, so that a page can show either.

use super::Report;
use crate::field_file::FieldFile;
use crate::units::UnitSystem;

/// The same words in pounds and acres, and in kilograms and hectares.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct InUnits {
    us: String,
    si: String,
}

impl InUnits {
    /// Words without a unit.
    pub(super) fn same(words: impl Into<String>) -> Self {
        let us = words.into();
        InUnits { si: us.clone(), us }
    }

    /// Words made once a system.
    pub(super) fn of(words: impl Fn(UnitSystem) -> String) -> Self {
        InUnits { us: words(UnitSystem::Us), si: words(UnitSystem::Si) }
    }

    /// Words in one system.
    pub(super) fn within(&self, units: UnitSystem) -> &str {
        match units {
            UnitSystem::Us => &self.us,
            UnitSystem::Si => &self.si,
        }
    }

    /// Whether both systems tell the same.
    pub(super) fn is_same(&self) -> bool {
        self.us == self.si
    }

    /// The same with each system's words changed.
    pub(super) fn map(&self, change: impl Fn(&str) -> String) -> Self {
        InUnits { us: change(&self.us), si: change(&self.si) }
    }
}

/// Field files that differ in the printed units only.
pub(super) struct BothUnits {
    us: FieldFile,
    si: FieldFile,
}

impl BothUnits {
    pub(super) fn of(report: &Report<'_>) -> Self {
        let with = |units| {
            let mut field_file = report.field_file.clone();
            field_file.field.units = units;
            field_file
        };
        BothUnits { us: with(UnitSystem::Us), si: with(UnitSystem::Si) }
    }

    /// The report in both systems; it computes nothing anew.
    pub(super) fn report<'a>(&'a self, report: &Report<'a>) -> BothReports<'a> {
        let with = |field_file| Report { field_file, ..*report };
        BothReports { us: with(&self.us), si: with(&self.si) }
    }
}

/// One report in both systems of units.
pub(super) struct BothReports<'a> {
    us: Report<'a>,
    si: Report<'a>,
}

impl<'a> BothReports<'a> {
    /// Words that a report tells, in both systems.
    pub(super) fn told(&self, words: impl Fn(&Report<'a>) -> String) -> InUnits {
        InUnits { us: words(&self.us), si: words(&self.si) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_without_a_unit_are_told_once() {
        assert!(InUnits::same("nothing").is_same());
        let units = InUnits::of(|units| format!("{units:?}"));
        assert!(!units.is_same() && units.within(UnitSystem::Si) == "Si");
    }
}
