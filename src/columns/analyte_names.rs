//! Names of the measured quantities, run together and without accents.
//!
//! English, and the French and German of the sheets in the field notes; further French, German, Spanish and Portuguese
//! names from memory.

use super::name::Name;
use crate::samples::Analyte as A;
use crate::units::Compound;

const NAMES: &[(Name, &[&str])] = &[
    (Name::Ph, &["ph", "phwert", "phvalue"]),
    (
        Name::PhConverted,
        &["equivwaterph", "equivalentwaterph", "waterphequivalent", "waterphequiv", "calcwaterph", "estwaterph"],
    ),
    (Name::Analyte(A::PhSalt), &["saltph", "phsalt"]),
    (
        Name::Analyte(A::BufferPh),
        &[
            "bufferph",
            "phbuffer",
            "bph",
            "phb",
            "bufph",
            "phbuf",
            "phtampon",
            "buffer",
            "phbuffered",
            "smpindex",
            "indicesmp",
            "phtampao",
        ],
    ),
    (Name::LimeIndex, &["limeindex", "limetestindex", "lti"]),
    (
        Name::Analyte(A::Ec),
        &[
            "ec",
            "electricalconductivity",
            "conductivity",
            "elecconductivity",
            "econd",
            "solublesalts",
            "solublesalt",
            "solsalts",
            "salts",
            "conductivite",
            "conductiviteelectrique",
            "elektrischeleitfahigkeit",
            "leitfahigkeit",
            "conductividad",
            "conductividadelectrica",
            "condutividade",
            "condutividadeeletrica",
        ],
    ),
    (
        Name::Analyte(A::FreeLime),
        &[
            "caco3",
            "freelime",
            "caco3total",
            "calcairetotal",
            "calcaire",
            "calciumcarbonate",
            "carbonates",
            "carbonate",
            "carbonatgehalt",
            "kalkgehalt",
            "carbonatos",
            "caliza",
            "calciumcarbonateequivalent",
        ],
    ),
    (
        Name::Analyte(A::ExcessLime),
        &["excesslime", "exlime", "excesslimerating", "limerating", "effervescence", "fizz"],
    ),
    (
        Name::Analyte(A::OrganicMatter),
        &[
            "om",
            "som",
            "organicmatter",
            "orgmatter",
            "soilorganicmatter",
            "humus",
            "humusgehalt",
            "matiereorganique",
            "matorg",
            "materiaorganica",
            "organischesubstanz",
            "organiquematiere",
        ],
    ),
    (Name::OrganicMatterOrMolybdenum, &["mo"]),
    (
        Name::OrganicCarbon,
        &[
            "oc",
            "organiccarbon",
            "orgcarbon",
            "toc",
            "soc",
            "corg",
            "orgc",
            "totalorganiccarbon",
            "carboneorganique",
            "carbonoorganico",
            "organischerkohlenstoff",
            "c",
            "carbon",
        ],
    ),
    (
        Name::Analyte(A::NitrateN),
        &["no3n", "nno3", "nitraten", "nitratenitrogen", "nitratenitrogenn", "nitrateasn", "no3asn", "nitratn"],
    ),
    (Name::Compound(Compound::No3), &["no3"]),
    (Name::NitrateForm, &["nitrate", "nitrates", "nitrat", "nitrato", "nitratos"]),
    (Name::Analyte(A::P), &["p", "phosphorus", "phosphorous", "phosphore", "phosphor", "fosforo", "phos", "pasp"]),
    (Name::PhosphorusBray(1), &["p1"]),
    (Name::PhosphorusBray(2), &["p2"]),
    (Name::Compound(Compound::P2o5), &["p2o5", "pp2o5", "pasp2o5", "phosphorusp2o5", "phosphorep2o5"]),
    (
        Name::Analyte(A::S),
        &[
            "s",
            "sulfur",
            "sulphur",
            "soufre",
            "schwefel",
            "azufre",
            "enxofre",
            "so4s",
            "sso4",
            "sulfates",
            "sulphates",
            "sulfaten",
            "sulfatesulfur",
            "so4ass",
        ],
    ),
    (Name::Compound(Compound::So4), &["so4", "sulfate", "sulphate", "sulfato"]),
    (Name::Analyte(A::K), &["k", "potassium", "kalium", "potasio", "potassio", "kask"]),
    (Name::Compound(Compound::K2o), &["k2o", "kk2o", "kask2o", "potassiumk2o"]),
    (Name::Analyte(A::Ca), &["ca", "calcium", "kalzium", "calcio"]),
    (Name::Compound(Compound::Cao), &["cao", "cacao", "caascao"]),
    (Name::Analyte(A::Mg), &["mg", "magnesium", "magnesio"]),
    (Name::Compound(Compound::Mgo), &["mgo", "mgmgo", "mgasmgo"]),
    (Name::Analyte(A::Na), &["na", "sodium", "natrium", "sodio"]),
    (Name::Compound(Compound::Na2o), &["na2o", "nana2o"]),
    (Name::Analyte(A::Al), &["al", "aluminum", "aluminium", "aluminio", "al+3", "al3+"]),
    (Name::Hydrogen, &["h", "hydrogen", "hydrogene", "wasserstoff", "hidrogeno", "hidrogenio"]),
    (
        Name::Analyte(A::Acidity),
        &[
            "ac",
            "acidity",
            "totalacidity",
            "h+al",
            "al+h",
            "acidezpotencial",
            "acidez",
            "potentialacidity",
            "acidite",
            "aciditeechangeable",
            "bufferacidity",
            "neutralizableacidity",
            "ea",
        ],
    ),
    (
        Name::Analyte(A::Cec),
        &[
            "cec",
            "kak",
            "ctc",
            "cic",
            "t",
            "cationexchangecapacity",
            "cationexchcap",
            "catexcap",
            "capacitedechangecationique",
            "kationenaustauschkapazitat",
            "capacidaddeintercambiocationico",
            "capacidadedetrocacationica",
        ],
    ),
    (Name::EffectiveCec, &["ecec", "effectivecec", "cecefetiva", "ctcefetiva", "cicefectiva", "effcec"]),
    (Name::ExchangeCapacity, &["tec", "totalexchangecapacity", "exchangecapacity", "totalexchcapacity"]),
    (Name::Analyte(A::NaSaturation), &["esp", "exchangeablesodiumpercentage", "exchsodiumpercentage"]),
    (Name::Analyte(A::OtherSaturation), &["otherbases", "others"]),
    (
        Name::Analyte(A::BaseSaturation),
        &[
            "bs",
            "basesaturation",
            "basesat",
            "pbs",
            "s/t",
            "v",
            "totalbasesaturation",
            "basensattigung",
            "saturationenbases",
            "tauxdesaturation",
            "saturacaoporbases",
            "saturaciondebases",
        ],
    ),
    (Name::Analyte(A::Zn), &["zn", "zinc", "zink", "zinco"]),
    (Name::Analyte(A::Mn), &["mn", "manganese", "mangan", "manganeso", "manganes"]),
    (Name::Analyte(A::Cu), &["cu", "copper", "cuivre", "kupfer", "cobre"]),
    (Name::Analyte(A::Fe), &["fe", "iron", "fer", "eisen", "hierro", "ferro"]),
    (Name::Analyte(A::B), &["b", "boron", "bore", "bor", "boro"]),
    (Name::Analyte(A::Sand), &["sand", "totalsand", "sable", "sables", "areia", "areiatotal", "arena"]),
    (Name::Analyte(A::Silt), &["silt", "limon", "limons", "schluff", "silte", "limo"]),
    (Name::Analyte(A::Clay), &["clay", "argile", "argiles", "ton", "tongehalt", "argila", "arcilla"]),
];

/// The quantity a name stands for.
pub(super) fn analyte_name(squeezed: &str) -> Option<Name> {
    NAMES.iter().find(|(_, names)| names.contains(&squeezed)).map(|(name, _)| *name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_stands_for_two_things() {
        let mut all: Vec<&str> = NAMES.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        let n_names = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), n_names);
        assert!(
            all.iter()
                .all(|name| name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "+/".contains(c)))
        );
    }

    #[test]
    fn languages_meet_in_one_analyte() {
        for name in ["k", "potassium", "kalium", "potasio"] {
            assert_eq!(analyte_name(name), Some(Name::Analyte(A::K)));
        }
        assert_eq!(analyte_name("argila"), analyte_name("clay"));
        assert_eq!(analyte_name("kk"), None);
    }
}
