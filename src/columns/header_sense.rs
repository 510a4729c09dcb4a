//! What one header says by itself: name, unit, methods.

use super::analyte_names::analyte_name;
use super::header_words::{Word, pieces, squeezed, without_repeat_mark, words};
use super::leave_aside::{self, aside_name, is_of_triple, is_ratio, take_aside_words};
use super::method_words::{MethodWord, PrintedMethod, method_of_code, take_methods};
use super::name::Name;
use super::sheet_names::{could_be_a_cell, is_programme, sheet_name};
use super::unit_words::{PrintedUnit, UnitWord, take_unit};
use crate::samples::{Analyte, LabMethod};
use crate::units::LabUnit;

/// A header longer than this, in bytes, is a sentence.
const LONGEST_HEADER: usize = 160;

/// What one header says.
pub(super) struct HeaderSense {
    /// What it names; `None` where the program does not know the words.
    pub(super) name: Option<Name>,
    /// The name's words, as the header prints them.
    pub(super) words: String,
    /// Its unit.
    pub(super) unit: Option<PrintedUnit>,
    /// Word of the length a depth is in.
    pub(super) length: Option<String>,
    /// Its methods.
    pub(super) methods: Vec<PrintedMethod>,
    /// Whether it says the quantity is the exchangeable one.
    pub(super) is_exchangeable: bool,
    /// Whether it says the quantity is a share of the exchange.
    pub(super) is_saturation: bool,
    /// Whether it belongs to the triples desired, found, deficit.
    pub(super) is_of_triple: bool,
    /// Whether its name was written as a sheet in Portuguese writes it.
    pub(super) is_portuguese: bool,
    /// Whether all of it is known; else some words beside those that leave it aside are not.
    is_whole: bool,
}

/// Words that say nothing more about which quantity it is.
const FILLERS: [&str; 46] = [
    "soil",
    "test",
    "found",
    "value",
    "result",
    "results",
    "reading",
    "lab",
    "level",
    "conc",
    "concentration",
    "content",
    "extractable",
    "extr",
    "ext",
    "available",
    "avail",
    "plant",
    "actual",
    "measured",
    "assimilable",
    "disponible",
    "disponivel",
    "cations",
    "cation",
    "macronutrients",
    "micronutrients",
    "nutrients",
    "minor",
    "major",
    "elements",
    "oligoelements",
    "traces",
    "de",
    "du",
    "des",
    "la",
    "le",
    "do",
    "da",
    "by",
    "in",
    "as",
    "the",
    "of",
    "icp",
];
const EXCHANGEABLE: [&str; 14] = [
    "exc",
    "exch",
    "exchangeable",
    "exchg",
    "ex",
    "ech",
    "echang",
    "echangeable",
    "trocavel",
    "intercambiable",
    "cambiable",
    "austauschbar",
    "austauschbares",
    "exchangable",
];
const SATURATION: [&str; 9] = ["sat", "saturation", "base", "bs", "pbs", "bases", "sature", "saturacion", "saturacao"];
const PORTUGUESE: [&str; 9] =
    ["ctc", "argila", "areia", "silte", "phagua", "ctcefetiva", "necessidadedecalagem", "acidezpotencial", "amostra"];

impl HeaderSense {
    /// Reads a header.
    pub(super) fn of(header: &str) -> Self {
        let mut sense = HeaderSense {
            name: None,
            words: String::new(),
            unit: None,
            length: None,
            methods: Vec::new(),
            is_exchangeable: false,
            is_saturation: false,
            is_of_triple: false,
            is_portuguese: false,
            is_whole: true,
        };
        if header.len() > LONGEST_HEADER {
            return sense;
        }
        let (header, code) = without_test_code(without_repeat_mark(header));
        sense.name = sense.read(header);
        if let (Some(method), true) = (code.and_then(method_of_code), sense.methods.is_empty()) {
            sense.methods.push(method);
        }
        sense
    }

    fn read(&mut self, header: &str) -> Option<Name> {
        let mut parts = pieces(header);
        let all = words(&parts);
        let text = squeezed(&all);
        self.is_portuguese = PORTUGUESE.contains(&text.as_str());
        self.is_of_triple = is_of_triple(&all);
        self.words = printed(header, &all);
        // `Lbs N/A` holds no unit that could be taken out of it.
        if text.starts_with("lb")
            && let Some(name) = aside_name(&text)
        {
            return Some(name);
        }
        if let Some((name, length)) = sheet_name(&all) {
            self.length = length.and_then(|word| header.get(word.place)).map(str::to_owned);
            return Some(name);
        }
        let is_advice = take_aside_words(&mut all.clone()).is_some();
        if !is_advice && is_programme(&all) {
            return Some(Name::Programme);
        }
        self.unit = take_unit(header, &mut parts);
        let mut left = words(&parts);
        self.words = printed(header, &left);
        if let Some(name) = whole_name(&squeezed(&left)) {
            return Some(name);
        }
        let aside = take_aside_words(&mut left);
        self.methods = take_methods(header, &mut left);
        let name = self.named(&mut left);
        self.words = printed(header, &left);
        if let Some(reason) = aside {
            self.is_whole = name.is_some() || is_ratio(&left, is_part_of_ratio);
            return Some(Name::LeftAside(reason));
        }
        if name.is_none() && is_ratio(&left, is_part_of_ratio) {
            // `K/CTC %`: a cation by the whole exchange is its saturation.
            let whole = left.last().is_some_and(|word| analyte_name(&word.text) == Some(Name::Analyte(Analyte::Cec)));
            self.is_saturation = whole;
            return if whole { analyte_name(&left[0].text) } else { Some(Name::LeftAside(leave_aside::RATIO)) };
        }
        name
    }

    /// The quantity named by words without unit and methods; words that say nothing more are dropped on the way.
    fn named(&mut self, left: &mut Vec<Word>) -> Option<Name> {
        self.is_exchangeable = drop_words(left, &EXCHANGEABLE);
        if left.is_empty() {
            return self.named_by_method();
        }
        if let Some(name) = whole_name(&squeezed(left)) {
            return Some(name);
        }
        let n_words = left.len();
        drop_words(left, &FILLERS);
        if left.is_empty() {
            // Words such as `Soil test` name nothing, whatever stands beside them.
            return if n_words > 0 && self.methods.is_empty() { None } else { self.named_by_method() };
        }
        if let Some(name) = whole_name(&squeezed(left)) {
            return Some(name);
        }
        let mut rest = left.clone();
        if drop_words(&mut rest, &SATURATION) && !rest.is_empty() {
            let name = analyte_name(&squeezed(&rest))?;
            self.is_saturation = true;
            *left = rest;
            return Some(name);
        }
        None
    }

    /// `SMP`, `Woodruff`, `LOI %` and `Olsen ppm` name a quantity by its method.
    fn named_by_method(&self) -> Option<Name> {
        let has_amount = matches!(self.lab_unit(), Some(LabUnit::Mass(_)));
        self.methods.iter().find_map(|method| match method.method {
            // Tests of phosphorus alone.
            MethodWord::Bray | MethodWord::Known(LabMethod::Bray1 | LabMethod::Bray2 | LabMethod::Olsen)
                if has_amount =>
            {
                Some(Name::Analyte(Analyte::P))
            }
            MethodWord::Known(LabMethod::Buffer(_)) | MethodWord::Sikora => Some(Name::Analyte(Analyte::BufferPh)),
            MethodWord::Known(LabMethod::LossOnIgnition) => Some(Name::Analyte(Analyte::OrganicMatter)),
            _ => None,
        })
    }

    /// Whether the header is nothing but units and methods, as in the second header row of some sheets.
    fn is_unit_or_method_only(&self) -> bool {
        self.name.is_none() && self.words.is_empty() && (self.unit.is_some() || !self.methods.is_empty())
    }

    /// The unit, where it is one of the program's.
    pub(super) fn lab_unit(&self) -> Option<LabUnit> {
        match self.unit.as_ref()?.unit {
            UnitWord::Unit(unit) | UnitWord::Short(unit) => Some(unit),
            UnitWord::Foreign => None,
        }
    }
}

/// Whether a header text is something this program understands, or knowingly leaves aside as a lab quantity (an index, a
/// ratio, a desired value). Also a unit or a method alone, as in the second header row of some sheets.
///
/// False for free text, numbers, dates, blanks and titles, for labels of a letterhead (`Date:`), and for words that are
/// as likely cells: `H`, `M`, `NA`, `Top`.
pub fn is_known_header(text: &str) -> bool {
    let text = without_repeat_mark(text);
    // Ratings, texture classes and blanks stand in cells under these very letters.
    const CELLS: [&str; 9] = ["l", "m", "h", "n", "c", "t", "v", "na", "n.a."];
    if CELLS.contains(&text.to_lowercase().as_str()) || !text.chars().any(|c| c.is_alphabetic() || c == '%') {
        return false;
    }
    let sense = HeaderSense::of(text);
    match sense.name {
        Some(Name::NoQuantity(_)) => false,
        Some(name) if name.is_lab_quantity() => sense.is_whole,
        Some(Name::Programme) => !could_be_a_cell(&squeezed(&words(&pieces(text)))) && text.split(' ').count() <= 4,
        Some(_) => !text.ends_with(':') && !could_be_a_cell(&squeezed(&words(&pieces(text)))),
        None => sense.is_unit_or_method_only(),
    }
}

fn whole_name(text: &str) -> Option<Name> {
    analyte_name(text).or_else(|| aside_name(text))
}

fn is_part_of_ratio(text: &str) -> bool {
    matches!(analyte_name(text), Some(Name::Analyte(_) | Name::Hydrogen | Name::OrganicCarbon | Name::Compound(_)))
        || text == "n"
}

/// Drops words; whether there were any.
fn drop_words(left: &mut Vec<Word>, list: &[&str]) -> bool {
    let n_words = left.len();
    left.retain(|word| !list.contains(&word.text.as_str()));
    left.len() < n_words
}

/// Words as the header prints them, from the first to the last.
fn printed(header: &str, words: &[Word]) -> String {
    let (Some(first), Some(last)) = (words.first(), words.last()) else { return String::new() };
    header.get(first.place.start..last.place.end).unwrap_or("").to_owned()
}

/// Parts the test code in square brackets from a header: `P ppm [S-P-M3.04]`.
fn without_test_code(header: &str) -> (&str, Option<&str>) {
    let code = header.strip_suffix(']').and_then(|rest| rest.rsplit_once('['));
    match code {
        Some((before, code)) if is_test_code(code) => (before.trim_end(), Some(code)),
        _ => (header, None),
    }
}

/// `S-P-M3.04`, `L_12`, and any like `X-PH-01`: a letter, an element, a number. `[M-3]` and `[mg-kg]` are none.
fn is_test_code(code: &str) -> bool {
    let parts: Vec<&str> = code.split('-').collect();
    let is_capital = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_uppercase());
    let is_like =
        matches!(parts[..], [first, second, _, ..] if first.len() == 1 && is_capital(first) && is_capital(second));
    is_like || ["S-", "s-", "L_"].iter().any(|start| code.starts_with(start))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn test_codes_are_parted_and_methods_and_units_in_brackets_are_not() {
        for (code, is_code) in
            [("S-P-M3.04", true), ("X-PH-01", true), ("L_12", true), ("M-3", false), ("mg-kg", false), ("NO3-N", false)]
        {
            assert_eq!(without_test_code(&format!("K ppm [{code}]")).1.is_some(), is_code, "{code}");
        }
    }

    #[test]
    fn headers_of_lab_sheets_are_known() {
        for header in [
            "pH",
            "Soil pH",
            "Buffer pH (SMP)",
            "OM %",
            "P Bray-1 ppm",
            "%K",
            "CEC",
            "Ca Desired Value lb/A",
            "Ca Deficit",
            "Exch. Hydrogen %",
            "Excess Lime",
            "Lbs N/A",
            "W/V",
            "HM%",
            "P-I",
            "K/Mg Ratio",
            "P/Al %",
            "S/T %",
            "Gehaltsklasse P",
            "LBC ppm CaCO3/pH",
            "Lime Req t/ac",
            "Sample ID",
            "Lat",
            "ppm",
            "meq/100 g",
            "%",
            "Mehlich-3",
            "P ppm [S-P-M3.04]",
            "Ca:Mg",
            "K ppm #2",
            "Base Saturation %K",
            "Cations\nppm K",
            "SMP",
            "lb K2O applied",
        ] {
            assert!(is_known_header(header), "{header}");
        }
    }

    #[test]
    fn cells_titles_and_free_text_are_no_headers() {
        for text in [
            "",
            " ",
            "5.8",
            "<5",
            "2-",
            "225 H",
            "2025-10-14",
            "10/14/2025",
            "6/29",
            "1:1",
            "H",
            "M",
            "VL",
            "NA",
            "N/A",
            "n.a.",
            "Soil test report",
            "Soil Test",
            "North 40",
            "Pdk3-1",
            "A-07",
            "Top",
            "corn",
            "La Combe",
            "South end",
            "uL",
            "MIN",
            "Lime is recommended where the pH is below 6",
            "Date:",
            "Grower:",
            "Fertilizer Recommendations",
            "5 ppm",
            "pH 6.5",
            "-",
            "#",
            "[",
            "Page 1 of 2",
            "Loam",
        ] {
            assert!(!is_known_header(text), "{text}");
        }
    }

    #[test]
    fn a_header_parts_into_name_unit_and_methods() {
        let sense = HeaderSense::of("P2O5 (CAL) mg/100g");
        assert_eq!(sense.name, Some(Name::Compound(crate::units::Compound::P2o5)));
        assert_eq!(sense.unit.unwrap().printed, "mg/100g");
        assert_eq!(sense.methods[0].printed, "CAL");
        let sense = HeaderSense::of("Sat. K %");
        assert_eq!((sense.name, sense.is_saturation), (Some(Name::Analyte(Analyte::K)), true));
        assert!(HeaderSense::of("K éch. g/kg").is_exchangeable);
    }
}
