//! Lab quantities that are left aside, each with its reason: figures that only look like a measurement.

use super::header_words::{Word, squeezed};
use super::name::Name;

/// An index of a lab or an advisory service.
pub(super) const INDEX: &str = "an index, not an amount";
/// Two quantities by each other.
pub(super) const RATIO: &str = "a ratio, not an amount";
/// A class or a word for how much.
pub(super) const RATING: &str = "a class or rating, not an amount";
/// What a lab would like to find.
const DESIRED: &str = "what is aimed at, not what was found";
/// What a lab advises.
const ADVICE: &str = "the lab's advice, not what was found";
/// Pounds beside parts per million.
const NITROGEN_AS_POUNDS: &str = "nitrogen as pounds an acre; the nitrate column is the test";
const TEXTURE: &str = "a texture in words";
const TOTAL_N: &str = "nitrogen other than nitrate: no soil test for rates";

/// Whole names.
const NAMES: &[(&str, &[&str])] = &[
    (NITROGEN_AS_POUNDS, &["lbsn/a", "lbn/a", "lbsn/ac", "lbn/ac", "lbsn/acre", "lbn/acre"]),
    (INDEX, &["pi", "ki", "si", "mni", "zni", "cui", "mgi", "cai", "bi", "nai", "znai", "mnai"]),
    (
        "a buffering index of phosphorus, not an amount",
        &["pbi", "pbicol", "phosphorusbufferindex", "phosphorusbufferingindex", "pri"],
    ),
    (
        "the soil's lime buffering, not a buffer pH",
        &["lbc", "lbceq", "lbccaco3/ph", "limebufferingcapacity", "limebuffercapacity"],
    ),
    ("weight by volume: how heavy the soil is", &["w/v", "weight/volume", "bulkdensity", "density", "rohdichte"]),
    ("humic matter: neither organic matter nor hydrogen", &["hm", "humicmatter"]),
    (
        "nitrogen the organic matter may release: an estimate",
        &["enr", "estnrelease", "estimatednrelease", "estimatednitrogenrelease"],
    ),
    (TEXTURE, &["texture", "textureclass", "texturalclass", "soiltexture", "bodenart", "textura", "texturelab"]),
    (RATING, &["soilclass", "soiltype", "soilgroup", "soilseries", "bodengruppe", "typedesol"]),
    (RATIO, &["sar", "sodiumadsorptionratio", "cn", "c:n", "c/n", "psi", "psr"]),
    ("the sum of the bases", &["sb", "sumofbases", "sumbases", "totalbases", "sommedesbases", "somadebases", "bases"]),
    (
        "the share of aluminum: no saturation this program uses",
        &["m", "alsaturation", "satal", "alsat", "saturacaoporaluminio"],
    ),
    (
        "the lime the lab asks for",
        &["nc", "necessidadedecalagem", "limerequirement", "limereq", "limerec", "lr", "besoinenchaux", "kalkbedarf"],
    ),
    (
        TOTAL_N,
        &[
            "n",
            "totaln",
            "ntotal",
            "totalnitrogen",
            "nitrogen",
            "tkn",
            "tn",
            "nh4n",
            "nnh4",
            "ammonium",
            "ammoniumn",
            "nh4",
            "azote",
            "azotetotal",
            "mineraln",
            "nmin",
        ],
    ),
    ("all carbon, that of lime too", &["totalcarbon", "tc", "totalc", "ctotal"]),
    ("total phosphorus, not a soil test", &["totalp", "ptotal", "totalphosphorus"]),
    (
        "a part of the sand",
        &[
            "agrossa",
            "afina",
            "areiagrossa",
            "areiafina",
            "coarsesand",
            "finesand",
            "sablegrossier",
            "sablefin",
            "grobsand",
            "feinsand",
        ],
    ),
    ("a part of the silt", &["coarsesilt", "finesilt", "limongrossier", "limonfin"]),
    ("active carbonate, not all of it", &["calcaireactif", "activecarbonate", "activelime"]),
    (
        "not used by this program",
        &[
            "molybdenum",
            "molybdene",
            "chloride",
            "cl",
            "chlore",
            "cloruro",
            "co",
            "cobalt",
            "se",
            "selenium",
            "silicon",
            "ni",
            "nickel",
            "moisture",
            "drymatter",
            "respiration",
            "soilhealth",
            "co2c",
            "poxc",
            "activecarbon",
        ],
    ),
];

/// Words that make of any quantity something else.
const WORDS: &[(&str, &[&str])] = &[
    (
        DESIRED,
        &[
            "desired",
            "deficit",
            "target",
            "ideal",
            "goal",
            "optimum",
            "optimal",
            "critical",
            "excess",
            "surplus",
            "souhaitable",
            "objectif",
            "sollwert",
            "zielwert",
            "deseado",
            "desejado",
            "deficiency",
            "sufficiency",
        ],
    ),
    (
        ADVICE,
        &[
            "recommended",
            "recommendation",
            "recommendations",
            "rec",
            "recs",
            "required",
            "requirement",
            "req",
            "needed",
            "need",
            "needs",
            "suggested",
            "conseil",
            "besoin",
            "empfehlung",
            "bedarf",
            "recomendado",
            "recomendada",
            "recomendacion",
            "recomendacao",
            "necesidad",
            "necessidade",
        ],
    ),
    (INDEX, &["index", "indices", "idx", "indice"]),
    (
        RATING,
        &[
            "rating",
            "ratings",
            "rank",
            "class",
            "klasse",
            "gehaltsklasse",
            "versorgungsstufe",
            "clase",
            "classe",
            "interpretation",
            "bewertung",
            "appreciation",
            "category",
        ],
    ),
    (RATIO, &["ratio", "ratios", "rapport", "verhaltnis", "relacion", "relacao"]),
];

/// A whole name that is left aside.
pub(super) fn aside_name(squeezed: &str) -> Option<Name> {
    NAMES.iter().find(|(_, names)| names.contains(&squeezed)).map(|(reason, _)| Name::LeftAside(reason))
}

/// Takes out the words that make a header one to leave aside; the reason of the first.
pub(super) fn take_aside_words(words: &mut Vec<Word>) -> Option<&'static str> {
    let reason_of =
        |word: &Word| WORDS.iter().find(|(_, list)| list.contains(&word.text.as_str())).map(|(reason, _)| *reason);
    let reason = words.iter().find_map(reason_of)?;
    words.retain(|word| reason_of(word).is_none());
    Some(reason)
}

/// Whether the words speak of the desired, the missing or the found: the triples of base-saturation sheets.
pub(super) fn is_of_triple(words: &[Word]) -> bool {
    words.iter().any(|word| matches!(word.text.as_str(), "desired" | "deficit" | "found" | "excess"))
}

/// Whether the header is two quantities by each other.
pub(super) fn is_ratio(words: &[Word], is_quantity: impl Fn(&str) -> bool) -> bool {
    let Some(at) = words.iter().position(|word| matches!(word.text.as_str(), "/" | ":")) else { return false };
    is_quantity(&squeezed(&words[..at])) && is_quantity(&squeezed(&words[at + 1..]))
}

#[cfg(test)]
mod tests {
    use super::super::header_words::{pieces, words};
    use super::*;

    #[test]
    fn what_is_wished_advised_or_rated_is_not_what_was_found() {
        let reason = |header: &str| take_aside_words(&mut words(&pieces(header)));
        assert_eq!(reason("Ca Desired Value"), Some(DESIRED));
        assert_eq!(reason("Lime Req"), Some(ADVICE));
        assert_eq!(reason("P Index"), Some(INDEX));
        assert_eq!(reason("Gehaltsklasse P"), Some(RATING));
        assert_eq!(reason("K/Mg Ratio"), Some(RATIO));
        assert_eq!(reason("Ca Value Found"), None);
    }

    #[test]
    fn a_short_index_is_known_as_a_whole_name() {
        assert_eq!(aside_name("ki"), Some(Name::LeftAside(INDEX)));
        assert_eq!(aside_name("k"), None);
    }
}
