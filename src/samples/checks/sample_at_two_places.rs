//! One sample name at two places.

use super::CheckInput;
use crate::crs::InputCrs;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::PlacesSetting;
use crate::samples::draft::DraftSample;

/// One sample name at two places.
pub static SAMPLE_AT_TWO_PLACES: Code = Code {
    name: "sample-at-two-places",
    checks: "that all rows of a sample name, of any depth, lie within 1 m of each other",
    why: "one bag comes from one place: either a name or a coordinate is wrong, and the map would carry the error",
    example: "`B-03` lies at -93.5024, 41.0034 on line 9 and at -93.5012, 41.0034 on line 24",
    mend: "correct the coordinates, or give each sample a name of its own",
};

/// Farther than this is another place, m: hand-held receivers repeat no better within a minute or two.
pub(super) const SAME_PLACE_M: f64 = 1.0;
/// Meters in a degree of latitude, to within 0.6 % anywhere: enough to tell two places apart.
const M_PER_DEGREE: f64 = 111_320.0;

/// Distance of two places given as longitude and latitude, m, good enough to tell them apart.
pub(super) fn degrees_apart_m(a: (f64, f64), b: (f64, f64)) -> f64 {
    M_PER_DEGREE * ((a.0 - b.0) * a.1.to_radians().cos()).hypot(a.1 - b.1)
}

/// How far apart two rows of a sheet lie, before any projection.
#[derive(Debug, Clone, Copy)]
pub(super) enum SheetRuler {
    /// Longitude and latitude.
    Degrees,
    /// A plane, its unit taken as meters.
    Plane,
}

impl SheetRuler {
    /// `None` where the sheet holds no coordinates or its CRS cannot be read, which is reported elsewhere.
    pub(super) fn of(input: &CheckInput<'_>) -> Option<Self> {
        match &input.settings.places {
            PlacesSetting::Sheet(sheet) => {
                let is_geographic = InputCrs::from_text(&sheet.crs).ok()?.is_geographic();
                Some(if is_geographic { SheetRuler::Degrees } else { SheetRuler::Plane })
            }
            PlacesSetting::Points { .. } | PlacesSetting::Open => None,
        }
    }

    /// Whether two rows lie at different places.
    pub(super) fn is_apart(self, a: &DraftSample, b: &DraftSample) -> bool {
        let (Some([ax, ay]), Some([bx, by])) = (a.sheet_xy, b.sheet_xy) else { return false };
        let distance = match self {
            SheetRuler::Degrees => degrees_apart_m((ax, ay), (bx, by)),
            SheetRuler::Plane => (ax - bx).hypot(ay - by),
        };
        distance > SAME_PLACE_M
    }
}

/// An error for each name with rows at two places.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let (Some(ruler), PlacesSetting::Sheet(sheet)) = (SheetRuler::of(input), &input.settings.places) else {
        return Vec::new();
    };
    let (x, y) = (sheet.x_column.as_str(), sheet.y_column.as_str());
    let mut sorted: Vec<&DraftSample> = input.drafts.iter().collect();
    sorted.sort_by(|a, b| a.id.cmp(&b.id).then(a.line.cmp(&b.line)));
    sorted
        .chunk_by(|a, b| a.id == b.id)
        .filter_map(|rows| {
            let other = rows.iter().find(|row| ruler.is_apart(rows[0], row))?;
            let place =
                |row: &DraftSample| format!("{}, {} on line {}", input.cell(row, x), input.cell(row, y), row.line);
            let message = format!("sample `{}` lies at {} and at {}", rows[0].id, place(rows[0]), place(other));
            Some(
                Diagnostic::error(&SAMPLE_AT_TWO_PLACES, message)
                    .at(input.table.place(other.line, &[x, y]))
                    .with_help("correct the coordinates, or give each sample a name of its own"),
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn a_name_at_two_places_is_an_error_at_any_depth() {
        let found = sheet("ID,x,y,From,To,pH\nA,0,0,0,8,6\nA,0,30,8,24,6\nB,5,5,0,8,6\n").with_input(check);
        assert_eq!(lines(&found), ["error: sample `A` lies at 0, 0 on line 2 and at 0, 30 on line 3"]);
    }

    #[test]
    fn a_step_of_less_than_a_meter_is_the_same_place() {
        assert!(sheet("ID,x,y,From,To,pH\nA,0,0,0,8,6\nA,0.6,0.6,8,24,6\n").with_input(check).is_empty());
    }

    #[test]
    fn degrees_are_measured_on_the_ground() {
        // 0.00001 degrees are 1.1 m of latitude, but 0.84 m of longitude at 41 N.
        let north = sheet("ID,lon,lat,pH\nA,-93.50000,41.00000,6\nA,-93.50000,41.00001,6\n").with_input(check);
        let east = sheet("ID,lon,lat,pH\nA,-93.50000,41.00000,6\nA,-93.50001,41.00000,6\n").with_input(check);
        assert_eq!((north.len(), east.len()), (1, 0));
    }
}
