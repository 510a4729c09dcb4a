//! The lab method a header prints.

use super::header_words::{Word, squeezed};
use crate::chemistry::Buffer;
use crate::samples::LabMethod;

/// A method as printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum MethodWord {
    /// One method.
    Known(LabMethod),
    /// Soil to water as printed; of conductivity it is the method.
    Ratio(Option<LabMethod>),
    /// Bray, weak or strong not said.
    Bray,
    /// Sikora, which of its buffers not said.
    Sikora,
    /// Mehlich, without a number: his buffer, or one of his extracts.
    Mehlich,
    /// A method the program has not.
    Foreign,
}

use LabMethod as M;
use MethodWord::Known;

const NAMES: &[(MethodWord, &[&str])] = &[
    // French, German, Spanish and Portuguese words beyond `eau`: from memory.
    (Known(M::Water), &["h2o", "water", "eau", "agua", "wasser", "acqua"]),
    (Known(M::CalciumChloride), &["cacl2", "calciumchloride", "chloruredecalcium", "cloretodecalcio"]),
    (Known(M::PotassiumChloride40), &["kcl40", "potassiumchloride40"]),
    (Known(M::PotassiumChloride), &["kcl", "potassiumchloride", "1mkcl", "kcl1m"]),
    (Known(M::DiluteSalt), &["salt", "dilutesalt"]),
    (Known(M::Buffer(Buffer::Smp)), &["smp"]),
    (Known(M::Buffer(Buffer::Sikora2)), &["sikora2"]),
    (Known(M::Buffer(Buffer::MooreSikora)), &["mooresikora"]),
    (Known(M::Buffer(Buffer::AdamsEvans)), &["adamsevans"]),
    (Known(M::Buffer(Buffer::Mehlich)), &["mehlichbuffer", "buffermehlich"]),
    (Known(M::Buffer(Buffer::Woodruff)), &["woodruff"]),
    (MethodWord::Sikora, &["sikora"]),
    (MethodWord::Mehlich, &["mehlich"]),
    (Known(M::LossOnIgnition), &["loi", "lossonignition", "lossignition", "perteaufeu", "gluhverlust"]),
    (Known(M::WalkleyBlack), &["wb", "walkleyblack", "walkley"]),
    (Known(M::DryCombustion), &["drycombustion", "combustion", "dumas"]),
    (
        Known(M::AmmoniumAcetate),
        &["ammoniumacetate", "nh4oac", "nh4ac", "nh4acetate", "amacetate", "acetatodeamonio", "acetatedammonium", "aa"],
    ),
    (Known(M::Mehlich1), &["m1", "mehlich1", "mehlichi", "doubleacid"]),
    (Known(M::Mehlich3Icp), &["m3icp", "mehlich3icp", "icpm3", "mehlichiiiicp"]),
    (
        Known(M::Mehlich3Color),
        &["m3color", "m3colorimetric", "mehlich3color", "mehlich3colorimetric", "m3colour", "mehlich3colour", "m3col"],
    ),
    (Known(M::Mehlich3), &["m3", "mehlich3", "mehlichiii"]),
    // The customary words for the two Bray tests: from memory.
    (Known(M::Bray1), &["bray1", "brayi", "weakbray"]),
    (Known(M::Bray2), &["bray2", "brayii", "strongbray"]),
    (MethodWord::Bray, &["bray"]),
    (Known(M::Olsen), &["olsen", "bicarb", "bicarbonate", "nahco3", "sodiumbicarbonate"]),
    (Known(M::Colwell), &["colwell"]),
    (Known(M::CalciumAcetateLactate), &["cal", "calciumacetatelactate"]),
    (Known(M::ModifiedMorgan), &["modifiedmorgan", "modmorgan"]),
    (Known(M::Morgan), &["morgan"]),
    (Known(M::Dtpa), &["dtpa"]),
    (Known(M::HotWater), &["hotwater", "hws", "eauchaude", "aguaquente", "aguacaliente"]),
    (Known(M::HydrochloricAcid), &["hcl", "hydrochloricacid", "0.1nhcl", "0.1mhcl"]),
    (Known(M::MonocalciumPhosphate), &["monocalciumphosphate", "mcp", "mcap"]),
    (Known(M::Resin), &["resin", "resina", "resine"]),
    (Known(M::CalciumAcetate), &["calciumacetate", "acetatodecalcio"]),
    (Known(M::MeasuredPh7), &["metson"]),
    (Known(M::Summation), &["summation", "sum", "somme", "suma", "soma"]),
    (Known(M::Effective), &["effective", "efetiva", "efectiva"]),
    (Known(M::SaturatedPaste), &["saturatedpaste", "satpaste", "saturationextract", "satextract", "paste"]),
    (Known(M::Calculated), &["calculated", "calc"]),
    (MethodWord::Ratio(Some(M::OneToOne)), &["1:1"]),
    (MethodWord::Ratio(Some(M::OneToTwo)), &["1:2"]),
    (MethodWord::Ratio(Some(M::OneToFive)), &["1:5"]),
    (MethodWord::Ratio(None), &["1:2.5", "1:10", "1:3"]),
    // Tests in use that this program has no method for; all but the first two from memory.
    (
        MethodWord::Foreign,
        &[
            "dyer",
            "joret",
            "jorethebert",
            "truog",
            "egner",
            "egnerriehm",
            "lancaster",
            "kelowna",
            "h3a",
            "bses",
            "dgt",
            "mehlich2",
            "m2",
            "doublelactate",
            "oxalate",
            "edta",
            "aceticacid",
            "lithiumchloride",
            "licl",
        ],
    ),
];

/// Abbreviations in the test codes that stand in square brackets behind a header.
const CODES: &[(MethodWord, &str)] = &[
    (Known(M::Mehlich1), "m1"),
    (Known(M::Mehlich3), "m3"),
    (Known(M::Bray1), "b1"),
    (Known(M::Bray2), "b2"),
    (Known(M::Olsen), "ol"),
    (Known(M::Olsen), "bic"),
];

/// A method and its words.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PrintedMethod {
    /// The method.
    pub(super) method: MethodWord,
    /// As the header prints it.
    pub(super) printed: String,
}

/// Takes the methods out of a header's words, the longest first.
pub(super) fn take_methods(header: &str, words: &mut Vec<Word>) -> Vec<PrintedMethod> {
    const LONGEST: usize = 4;
    split_ph(words);
    let mut found = Vec::new();
    for length in (1..=LONGEST).rev() {
        let mut start = 0;
        while start + length <= words.len() {
            let window = &words[start..start + length];
            let text = squeezed(window);
            match NAMES.iter().find(|(_, names)| names.contains(&text.as_str())) {
                Some((method, _)) => {
                    let place = window[0].place.start..window[length - 1].place.end;
                    let printed = header.get(place).unwrap_or(&text).to_owned();
                    found.push(PrintedMethod { method: *method, printed });
                    words.drain(start..start + length);
                }
                None => start += 1,
            }
        }
    }
    found
}

/// `pHAgua` and `pHKCl` are two words.
fn split_ph(words: &mut Vec<Word>) {
    const MEDIA: [&str; 8] = ["h2o", "water", "eau", "agua", "cacl2", "kcl", "smp", "wasser"];
    for index in 0..words.len() {
        let Some(medium) = words[index].text.strip_prefix("ph").filter(|rest| MEDIA.contains(rest)) else { continue };
        let place = words[index].place.clone();
        let medium = Word { text: medium.to_owned(), place: place.start + 2..place.end, glued: false };
        words[index].text = "ph".to_owned();
        words[index].place.end = place.start + 2;
        words.insert(index + 1, medium);
        return;
    }
}

/// The method in a test code such as `S-P-M3.04`; `None` where no plain abbreviation says one.
pub(super) fn method_of_code(code: &str) -> Option<PrintedMethod> {
    let code_words: Vec<String> =
        code.split(|c: char| !c.is_ascii_alphanumeric()).map(str::to_ascii_lowercase).collect();
    let method = CODES.iter().find(|(_, name)| code_words.iter().any(|word| word == name))?.0;
    Some(PrintedMethod { method, printed: code.trim().to_owned() })
}

#[cfg(test)]
mod tests {
    use super::super::header_words::{pieces, words};
    use super::*;

    fn taken(header: &str) -> (Vec<MethodWord>, String) {
        let mut left = words(&pieces(header));
        let found = take_methods(header, &mut left).into_iter().map(|method| method.method).collect();
        (found, squeezed(&left))
    }

    #[test]
    fn methods_are_taken_out_wherever_they_stand() {
        assert_eq!(taken("P Bray-1"), (vec![Known(M::Bray1)], "p".to_owned()));
        assert_eq!(taken("P-Bray"), (vec![MethodWord::Bray], "p".to_owned()));
        assert_eq!(taken("M3-P"), (vec![Known(M::Mehlich3)], "p".to_owned()));
        assert_eq!(taken("P M3 ICP"), (vec![Known(M::Mehlich3Icp)], "p".to_owned()));
        assert_eq!(taken("pHAgua"), (vec![Known(M::Water)], "ph".to_owned()));
        assert_eq!(taken("OC W&B"), (vec![Known(M::WalkleyBlack)], "oc".to_owned()));
        assert_eq!(taken("S KCl-40"), (vec![Known(M::PotassiumChloride40)], "s".to_owned()));
        assert_eq!(taken("P2O5 Joret-Hébert"), (vec![MethodWord::Foreign], "p2o5".to_owned()));
        assert_eq!(taken("calcium"), (vec![], "calcium".to_owned()));
    }

    #[test]
    fn a_test_code_says_only_plain_abbreviations() {
        assert_eq!(method_of_code("S-P-M3.04").unwrap().method, Known(M::Mehlich3));
        assert_eq!(method_of_code("S-PH-1:1.02.07"), None);
    }
}
