//! The day of sampling, from a column of dates in whatever order the sheet prints them.

/// What a column of dates tells.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum SampledOn {
    /// One day, ISO 8601.
    Day(String),
    /// The last of several days, ISO 8601, and how many there are.
    Last(String, usize),
    /// `3/4/2025`: either order fits every cell; an example.
    Ambiguous(String),
    /// No dates that can be read.
    Unreadable,
}

/// Reads the cells of a date column; blank cells do not count.
pub(super) fn sampled_on<'a>(cells: impl Iterator<Item = &'a str>) -> SampledOn {
    let cells: Vec<&str> = cells.map(str::trim).filter(|cell| !cell.is_empty()).collect();
    let parts: Option<Vec<[u32; 3]>> = cells.iter().map(|cell| numbers(cell)).collect();
    let Some(parts) = parts.filter(|parts| !parts.is_empty()) else { return SampledOn::Unreadable };
    let readings: Vec<Vec<String>> = [year_first, month_first, day_first]
        .iter()
        .filter_map(|order| parts.iter().map(|parts| order(*parts)).collect::<Option<Vec<String>>>())
        .collect();
    let mut days = match &readings[..] {
        [] => return SampledOn::Unreadable,
        [one] => one.clone(),
        [first, others @ ..] if others.iter().all(|other| other == first) => first.clone(),
        _ => return SampledOn::Ambiguous(cells[0].to_owned()),
    };
    days.sort();
    days.dedup();
    match days.len() {
        1 => SampledOn::Day(days.remove(0)),
        n => SampledOn::Last(days.remove(n - 1), n),
    }
}

/// The three numbers of a date; a time behind it is dropped.
fn numbers(cell: &str) -> Option<[u32; 3]> {
    let date = cell.split(['T', ' ']).next()?;
    let parts: Vec<u32> = date.split(['-', '/', '.']).map(|part| part.parse().ok()).collect::<Option<_>>()?;
    parts.try_into().ok()
}

fn year_first([year, month, day]: [u32; 3]) -> Option<String> {
    (year > 99).then(|| iso(year, month, day)).flatten()
}

fn month_first([month, day, year]: [u32; 3]) -> Option<String> {
    iso(full_year(year)?, month, day)
}

fn day_first([day, month, year]: [u32; 3]) -> Option<String> {
    iso(full_year(year)?, month, day)
}

/// Two figures are of this century: no soil test on a sheet today is older.
fn full_year(year: u32) -> Option<u32> {
    match year {
        0..=99 => Some(2000 + year),
        1900..=2200 => Some(year),
        _ => None,
    }
}

fn iso(year: u32, month: u32, day: u32) -> Option<String> {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        1..=12 => 31,
        _ => return None,
    };
    ((1900..=2200).contains(&year) && (1..=days).contains(&day)).then(|| format!("{year:04}-{month:02}-{day:02}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(cells: &[&str]) -> SampledOn {
        sampled_on(cells.iter().copied())
    }

    #[test]
    fn one_day_in_any_order_is_read_where_only_one_order_fits() {
        assert_eq!(read(&["2025-10-14", "2025-10-14"]), SampledOn::Day("2025-10-14".to_owned()));
        assert_eq!(read(&["10/14/2025"]), SampledOn::Day("2025-10-14".to_owned()));
        assert_eq!(read(&["14.10.25"]), SampledOn::Day("2025-10-14".to_owned()));
        assert_eq!(read(&["2025-10-14T00:00:00"]), SampledOn::Day("2025-10-14".to_owned()));
        // The same either way round.
        assert_eq!(read(&["5/5/2025"]), SampledOn::Day("2025-05-05".to_owned()));
    }

    #[test]
    fn one_cell_that_fits_one_order_only_settles_the_others() {
        assert_eq!(read(&["3/4/2025", "3/14/2025"]), SampledOn::Last("2025-03-14".to_owned(), 2));
    }

    #[test]
    fn day_and_month_that_could_be_either_are_not_guessed() {
        assert_eq!(read(&["3/4/2025"]), SampledOn::Ambiguous("3/4/2025".to_owned()));
    }

    #[test]
    fn what_is_no_date_is_none() {
        for cells in [&["fall"][..], &["14/31/2025"], &["2025-02-30"], &[""], &[]] {
            assert_eq!(read(cells), SampledOn::Unreadable, "{cells:?}");
        }
    }
}
