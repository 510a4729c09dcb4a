//! Places: a name is not enough, the numbers must be degrees or meters.

use super::Role;
use super::name::Name;
use super::sheet_reading::SheetReading;
use crate::samples::{Axis, DecimalMark, NumberForm, read_degrees};

/// A field is smaller than this, degrees; larger spreads are meters.
const WIDEST_FIELD_DEG: f64 = 1.0;
/// Degrees with fewer figures miss by a hundred meters and more.
const LEAST_DECIMALS_DEG: usize = 3;

/// Settles longitude, latitude, easting and northing.
pub(super) fn settle_places(sheet: &mut SheetReading, numbers: &NumberForm) {
    for column in 0..sheet.readings.len() {
        let is_place =
            matches!(sheet.readings[column].role, Role::Longitude | Role::Latitude | Role::Easting | Role::Northing);
        let values = &sheet.values[column];
        if is_place && values.n_filled > 0 && values.n_numbers == 0 {
            if are_degrees(sheet, column, numbers.decimal == DecimalMark::Comma) {
                sheet.readings[column].why = "by name; degrees as text".to_owned();
            } else {
                sheet.set_aside(column, "a place written in words this program does not read", "by its cells");
            }
        } else if is_place && values.n_filled == 0 && !sheet.table.rows.is_empty() {
            sheet.set_aside(column, "blank in every row", "by its cells");
        }
    }
    settle_degrees(sheet, Role::Longitude, 180.0);
    settle_degrees(sheet, Role::Latitude, 90.0);
    settle_x_and_y(sheet);
    for role in [Role::Longitude, Role::Latitude, Role::Easting, Role::Northing] {
        let columns = columns_in(sheet, &role);
        for later in columns.iter().skip(1) {
            let reason = format!("stands twice: `{}` is taken", sheet.header(columns[0]));
            sheet.set_aside(*later, reason, "by name");
        }
    }
}

/// Whether most of the first cells of a longitude or latitude are degrees written as text: minutes, seconds, letters.
fn are_degrees(sheet: &SheetReading, column: usize, decimal_comma: bool) -> bool {
    const LOOKED_AT: usize = 100;
    let axis = match sheet.readings[column].role {
        Role::Longitude => Axis::Lon,
        Role::Latitude => Axis::Lat,
        _ => return false,
    };
    let cells = sheet.table.rows.iter().map(|row| row.cells[column].as_str());
    let cells: Vec<&str> = cells.filter(|cell| !cell.is_empty()).take(LOOKED_AT).collect();
    let n_read = cells.iter().filter(|cell| read_degrees(cell, axis, decimal_comma).is_ok()).count();
    2 * n_read > cells.len()
}

/// Columns of a role.
fn columns_in(sheet: &SheetReading, role: &Role) -> Vec<usize> {
    (0..sheet.readings.len()).filter(|column| sheet.readings[*column].role == *role).collect()
}

fn settle_degrees(sheet: &mut SheetReading, role: Role, most: f64) {
    for column in columns_in(sheet, &role) {
        if !matches!(sheet.senses[column].name, Some(Name::Longitude | Name::Latitude)) {
            continue;
        }
        match sheet.values[column].range() {
            Some([least, greatest]) if least < -most || greatest > most => {
                let reason = format!("no degrees: its numbers go beyond {most:.0}");
                sheet.set_aside(column, reason, "by range");
            }
            Some(_) => sheet.readings[column].why = "by name and range".to_owned(),
            None => {}
        }
    }
}

/// `X` and `Y` are degrees or meters by their numbers, and only together.
fn settle_x_and_y(sheet: &mut SheetReading) {
    let named = |sheet: &SheetReading, role: &Role, name: Name| {
        columns_in(sheet, role).into_iter().find(|column| sheet.senses[*column].name == Some(name))
    };
    let x = named(sheet, &Role::Easting, Name::X);
    let y = named(sheet, &Role::Northing, Name::Y);
    let (Some(x), Some(y)) = (x, y) else {
        for alone in x.into_iter().chain(y) {
            sheet.set_aside(alone, "one coordinate without the other", "by name");
        }
        return;
    };
    let looks_like_degrees = |column: usize, most: f64| {
        let values = &sheet.values[column];
        let is_in_range =
            |[least, greatest]: [f64; 2]| least >= -most && greatest <= most && greatest - least < WIDEST_FIELD_DEG;
        values.range().is_some_and(is_in_range) && values.n_decimals >= LEAST_DECIMALS_DEG
    };
    if looks_like_degrees(x, 180.0) && looks_like_degrees(y, 90.0) {
        sheet.readings[x].role = Role::Longitude;
        sheet.readings[y].role = Role::Latitude;
        for column in [x, y] {
            sheet.readings[column].why = "by name, degrees by range".to_owned();
        }
    } else {
        for column in [x, y] {
            sheet.readings[column].why = "by name, no degrees by range".to_owned();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Role;
    use super::super::invented_sheet::{aside, understood};

    #[test]
    fn degrees_need_name_and_range() {
        let readings = understood("Long,Lat", &["-93.504807,41.25"]);
        assert_eq!((&readings[0].role, &readings[1].role), (&Role::Longitude, &Role::Latitude));
        assert_eq!(readings[0].why, "by name and range");
        let readings = understood("Lat,Long", &["-93.504807,41.25"]);
        assert!(aside(&readings[0]).contains("beyond 90"));
        let readings = understood("Lat,Long", &["41 15 30 N,93 30 17 W"]);
        assert_eq!((&readings[0].role, &readings[1].role), (&Role::Latitude, &Role::Longitude));
        let readings = understood("Lat,Long", &["by the gate,93 30 17 W"]);
        assert!(aside(&readings[0]).contains("written in words"));
    }

    #[test]
    fn x_and_y_are_degrees_or_meters_by_their_numbers() {
        let roles = |rows: &[&str]| {
            let readings = understood("X,Y", rows);
            (readings[0].role.clone(), readings[1].role.clone())
        };
        assert_eq!(roles(&["-93.50480,41.25310", "-93.50122,41.25111"]), (Role::Longitude, Role::Latitude));
        assert_eq!(roles(&["450120.5,4567001.2"]), (Role::Easting, Role::Northing));
        assert_eq!(roles(&["0,0", "25,50"]), (Role::Easting, Role::Northing));
        assert!(aside(&understood("X,pH", &["1,6.2"])[0]).contains("without the other"));
        assert_eq!(understood("UTM E,X (m)", &["450120,450120"])[0].role, Role::Easting);
    }
}
