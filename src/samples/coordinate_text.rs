//! A cell with one coordinate, as people and receivers write it, to a number.
//!
//! Degrees may stand as a decimal number, as degrees and minutes, or as degrees, minutes and seconds, with a sign or one
//! of N S E W before or after. Only these four letters: `O` is east in one language and west in others. Easting and
//! northing are plain numbers. Nothing is guessed: what is left over refuses the cell.

/// Which of the two coordinates a cell holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Axis {
    /// Longitude, -180 to 180.
    Lon,
    /// Latitude, -90 to 90.
    Lat,
}

impl Axis {
    fn name(self) -> &'static str {
        match self {
            Axis::Lon => "longitude",
            Axis::Lat => "latitude",
        }
    }

    fn other(self) -> Axis {
        match self {
            Axis::Lon => Axis::Lat,
            Axis::Lat => Axis::Lon,
        }
    }

    fn most_deg(self) -> f64 {
        match self {
            Axis::Lon => 180.0,
            Axis::Lat => 90.0,
        }
    }
}

/// Why a cell is no coordinate, and how to mend it.
///
/// What is often so in a whole column has the cell in `help` only, so that equal messages fold into one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CoordinateFault {
    /// What is wrong.
    pub(crate) message: String,
    /// How to mend it.
    pub(crate) help: String,
}

fn fault(message: impl Into<String>, help: impl Into<String>) -> CoordinateFault {
    CoordinateFault { message: message.into(), help: help.into() }
}

/// Characters of the longest coordinate; degrees, minutes and seconds take about 20.
const MOST_CHARACTERS: usize = 64;

/// Refuses a cell that no coordinate fills, before its parts are tried against each other.
fn too_long(text: &str) -> Result<(), CoordinateFault> {
    match text.chars().count() {
        n if n > MOST_CHARACTERS => Err(fault(
            format!("the cell holds {n} characters, more than any coordinate"),
            "write one coordinate into the cell",
        )),
        _ => Ok(()),
    }
}

/// Reads longitude or latitude in degrees; without sign or letter the number is taken as it stands.
///
/// A point is a decimal mark always (no coordinate reaches a thousand degrees), a comma only with `decimal_comma`. A
/// plain number beyond 180 or 90 is returned as it is: exchanged columns and meters show better over all rows together.
///
/// # Errors
/// The first reason the cell cannot be one coordinate of `axis`.
pub(crate) fn read_degrees(text: &str, axis: Axis, decimal_comma: bool) -> Result<f64, CoordinateFault> {
    too_long(text)?;
    let plain = with_plain_marks(text);
    read_one(&plain, axis, decimal_comma).map_err(|found| {
        if holds_two(&plain, decimal_comma) {
            let help = "into a column of longitude and a column of latitude";
            return fault("two coordinates stand in one cell", format!("split `{}` {help}", text.trim()));
        }
        found
    })
}

/// Reads an easting or a northing: a plain number with one decimal mark, a comma if `decimal_comma`, else a point.
///
/// # Errors
/// Why it is none: thousands marked, the other decimal mark, degrees, a power of ten, anything else.
pub(crate) fn read_plane(text: &str, decimal_comma: bool) -> Result<f64, CoordinateFault> {
    too_long(text)?;
    let (mark, other) = if decimal_comma { (',', '.') } else { ('.', ',') };
    let (plain, shown) = (with_plain_marks(text), text.trim());
    if let Some(value) = plain_number(&plain, mark) {
        return Ok(value);
    }
    if plain_number(&plain, '.').is_none() && plain.parse::<f64>().is_ok_and(f64::is_finite) {
        return Err(fault(
            "the number is written as a power of ten",
            format!("write `{shown}` out; a sheet that shows it so may have lost its last figures"),
        ));
    }
    let is_degrees = plain.ends_with(['N', 'S', 'E', 'W', 'n', 's', 'e', 'w']) || plain.contains(DEGREE_MARKS);
    if is_degrees && plain.contains(|c: char| c.is_ascii_digit()) {
        return Err(fault(
            "degrees stand where the CRS stated counts in meters or feet",
            format!("`{shown}`: name the columns as `lon` and `lat`, and state their CRS, for example `EPSG:4326`"),
        ));
    }
    let bare: String = plain.chars().filter(|c| ![' ', '\'', other].contains(c)).collect();
    if plain_number(&bare, mark).is_some() && bare != plain {
        let after_other = plain.rsplit(other).next().map_or(0, str::len);
        let is_decimal = plain.matches(other).count() == 1 && !plain.contains([' ', '\'', mark]);
        let swapped = plain.replace(other, &mark.to_string());
        let name = |mark| if mark == '.' { "point" } else { "comma" };
        return Err(match (is_decimal, after_other == 3) {
            (true, false) => fault(
                format!("a {} stands where a decimal {} is expected", name(other), name(mark)),
                format!("write `{shown}` as `{swapped}`"),
            ),
            (true, true) => fault(
                format!("a {} may divide thousands here, or mark decimals", name(other)),
                format!("write `{shown}` as `{bare}` if it divides thousands, as `{swapped}` if it marks decimals"),
            ),
            (false, _) => fault("thousands are marked", format!("write `{shown}` without such marks: `{bare}`")),
        });
    }
    Err(fault(format!("`{shown}` is not a number"), "write easting and northing as plain numbers"))
}

const DEGREE_MARKS: [char; 5] = ['°', 'º', '˚', 'd', 'D'];

/// Signs, spaces and quotes of all kinds as the plain ones: `-`, ` `, `'`, `"`.
fn with_plain_marks(text: &str) -> String {
    let plain = text.chars().map(|c| match c {
        '\u{2212}' | '\u{2010}' | '\u{2011}' | '\u{2013}' | '\u{fe63}' | '\u{ff0d}' => '-',
        '\u{2032}' | '\u{2018}' | '\u{2019}' | '\u{b4}' | '\u{2b9}' | '\u{2bc}' | '`' => '\'',
        '\u{2033}' | '\u{201c}' | '\u{201d}' | '\u{2dd}' | '\u{2ba}' => '"',
        c if c.is_whitespace() => ' ',
        c => c,
    });
    plain.collect::<String>().replace("''", "\"").trim().to_owned()
}

/// Digits with at most one `mark`, a sign before them; nothing else.
fn plain_number(text: &str, mark: char) -> Option<f64> {
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    let is_plain = unsigned.contains(|c: char| c.is_ascii_digit())
        && unsigned.matches(mark).count() <= 1
        && unsigned.chars().all(|c| c.is_ascii_digit() || c == mark);
    // A cell of some hundred digits parses to infinity.
    if is_plain { text.replace(mark, ".").parse().ok().filter(|value: &f64| value.is_finite()) } else { None }
}

fn read_one(text: &str, axis: Axis, decimal_comma: bool) -> Result<f64, CoordinateFault> {
    if !text.contains(|c: char| c.is_ascii_digit()) {
        return Err(fault(format!("`{text}` is not a coordinate"), "write the coordinate, or delete the row"));
    }
    let is_hemisphere = |c: char| "NSEWnsew".contains(c);
    let (body, before) = text.strip_prefix(is_hemisphere).map_or((text, None), |body| (body, text.chars().next()));
    let (body, after) = body.strip_suffix(is_hemisphere).map_or((body, None), |rest| (rest, body.chars().last()));
    if before.is_some() && after.is_some() {
        return Err(fault(format!("`{text}` carries a letter before and behind"), "leave one of N, S, E, W"));
    }
    let letter = before.or(after).map(|c| c.to_ascii_uppercase());
    let body = body.trim();
    let sign = body.chars().next().filter(|c| ['+', '-'].contains(c));
    let parts = parts_of(sign.map_or(body, |_| &body[1..]), text, decimal_comma)?;
    for (part, name) in parts.iter().skip(1).zip(["minutes", "seconds"]) {
        if *part >= 60.0 {
            return Err(fault(format!("{part} {name} in `{text}`, expected under 60"), "correct the cell"));
        }
    }
    let of_letter = letter.map(|c| if "NS".contains(c) { Axis::Lat } else { Axis::Lon });
    if let (Some(found), Some(letter)) = (of_letter.filter(|found| *found != axis), letter) {
        return Err(fault(
            format!("a {} (`{letter}`) stands in the column of {}", found.name(), axis.name()),
            "exchange `lon` and `lat` in `samples.places`; if only some rows are so, correct their cells",
        ));
    }
    let is_negative = letter.is_some_and(|c| "SW".contains(c));
    if let (Some(sign), Some(letter)) = (sign, letter)
        && (sign == '-') != is_negative
    {
        let help = "south and west are negative: leave the sign or the letter, whichever is right";
        return Err(fault(
            format!("the sign says otherwise than the letter `{letter}`"),
            format!("in `{text}` one of them is wrong; {help}"),
        ));
    }
    let value = parts.iter().rev().fold(0.0, |sum, part| sum / 60.0 + part);
    if value > axis.most_deg() && (letter.is_some() || parts.len() > 1) {
        let message = format!("`{text}` lies beyond {} degrees of {}", axis.most_deg(), axis.name());
        return Err(fault(message, "put a mark between degrees, minutes and seconds, or exchange `lon` and `lat`"));
    }
    if value.is_finite() {
        Ok(if is_negative || sign == Some('-') { -value } else { value })
    } else {
        Err(fault(format!("`{text}` is not a number"), "correct the cell"))
    }
}

/// One to three numbers: degrees, minutes, seconds, the last of them with a fraction or without.
fn parts_of(body: &str, shown: &str, decimal_comma: bool) -> Result<Vec<f64>, CoordinateFault> {
    let not_read = |left: &str| {
        let message = format!("`{shown}` is not a coordinate: `{}` cannot be read", left.trim());
        fault(message, "write decimal degrees, or degrees, minutes and seconds, with a sign or one of N, S, E, W")
    };
    let (mut rest, mut parts, mut has_fraction) = (body.trim_start(), Vec::new(), false);
    while !rest.is_empty() {
        let is_of_number = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
        let end = rest.find(|c| !is_of_number(c)).unwrap_or(rest.len());
        let number = &rest[..end];
        if !decimal_comma && number.contains(',') && plain_number(number, ',').is_some() {
            let help = format!("write `{shown}` as `{}`", shown.replace(',', "."));
            return Err(fault("a comma stands where a decimal point is expected", help));
        }
        let mark = if number.contains(',') { ',' } else { '.' };
        let value = plain_number(number, mark).filter(|_| parts.len() < 3).ok_or_else(|| not_read(rest))?;
        if has_fraction {
            let message = format!("`{shown}` has a fraction before its last part");
            return Err(fault(message, "only the last of degrees, minutes and seconds may have a fraction"));
        }
        has_fraction = number.contains(mark);
        parts.push(value);
        let after = &rest[end..];
        rest = after.trim_start();
        if let Some(c) = rest.chars().next().filter(|c| !c.is_ascii_digit()) {
            let is_right = match parts.len() {
                1 => DEGREE_MARKS.contains(&c) || c == ':',
                2 => c == '\'' || c == ':',
                _ => c == '"',
            };
            let left = &rest[c.len_utf8()..];
            if !is_right || (c == ':' && left.trim().is_empty()) {
                return Err(not_read(rest));
            }
            rest = left.trim_start();
        } else if rest.len() == after.len() && !rest.is_empty() {
            return Err(not_read(rest));
        }
    }
    Ok(parts)
}

/// Whether a cell divides into two coordinates that could be a pair.
fn holds_two(text: &str, decimal_comma: bool) -> bool {
    let is_number = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    text.char_indices().filter(|(_, c)| [' ', ',', ';', '/'].contains(c)).any(|(at, c)| {
        let (left, right) = (text[..at].trim(), text[at + 1..].trim());
        let is_mark = c == ','
            && is_number(text[..at].chars().last())
            && is_number(text[at + 1..].chars().next())
            && (decimal_comma || !text.contains('.'));
        let tells = |part: &str| part.contains(['.', ',']) || part.contains(|c: char| "NSEWnsew".contains(c));
        let divides = c != ' ' || right.starts_with(['+', '-']) || (tells(left) && tells(right));
        let fits = |axis: Axis| {
            let reads = |part, axis| read_one(part, axis, decimal_comma).is_ok_and(|v: f64| v.abs() <= 180.0);
            reads(left, axis) && reads(right, axis.other())
        };
        !is_mark && divides && (fits(Axis::Lat) || fits(Axis::Lon))
    })
}

#[cfg(test)]
mod tests;
