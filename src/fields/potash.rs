//! What the name of a product or nutrient says about potash.

use super::cores::plain_name;

/// What a product or nutrient says about potash.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Potash {
    /// Pounds (or kilograms) of K2O in one of it.
    K2o(f64),
    /// Potash by this name; product or nutrient is not said.
    ByName(String),
    /// May hold potash, no one knows how much.
    MayHold,
    /// None: every word is known and free of potash.
    No,
}

/// Words that name potash.
const WITH_POTASH: [&str; 8] = ["k", "kcl", "mop", "sop", "potash", "potassium", "potassic", "muriate"];
/// Symbols that beside a `K` make it a blend.
const OTHER_OF_A_BLEND: [&str; 3] = ["n", "p", "p2o5"];
/// Words that put two things together.
const TOGETHER: [&str; 7] = ["and", "with", "plus", "blend", "mix", "mixed", "+"];

impl Potash {
    /// What a name says. `K2O as 0-0-60` is an amount of K2O; `0-0-60` alone is one of a product.
    pub(super) fn of(what: &str) -> Self {
        let plain = plain_name(what).replace(['\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2212}'], "-");
        let plain = plain.replace('\u{2082}', "2").replace(['+', '&'], " + ");
        let texts = plain.split(|c: char| !c.is_alphanumeric() && !"-.+".contains(c)).filter(|text| !text.is_empty());
        let (mut words, mut grades): (Vec<&str>, Vec<f64>) = (Vec::new(), Vec::new());
        for text in texts {
            match k2o_of_grade(text) {
                Some(_) if words.contains(&"k2o") => {}
                Some(percent) => grades.push(percent),
                None => words.extend(text.split(['-', '.']).filter(|word| !word.is_empty())),
            }
        }
        let says = |names: &[&str]| words.iter().any(|word| names.contains(word));
        if let Some(at) = words.iter().position(|word| *word == "k2o") {
            // In `60 % K2O` and `0-0-60 K2O` the amount may be one of the product.
            let is_share = !grades.is_empty() || words[..at].iter().any(|word| is_number(word));
            return if is_share || says(&OTHER_OF_A_BLEND) { Potash::MayHold } else { Potash::K2o(1.0) };
        }
        let names_potash = says(&WITH_POTASH);
        let is_all_known = words.iter().all(|word| {
            is_number(word)
                || [&WITH_POTASH[..], &WITHOUT_POTASH, &TOGETHER, &SAYS_NOTHING].iter().any(|list| list.contains(word))
        });
        match grades[..] {
            [_] if says(&TOGETHER) && !is_all_known => Potash::MayHold,
            [0.0] if names_potash => Potash::MayHold,
            [0.0] => Potash::No,
            [percent] => Potash::K2o(percent / 100.0),
            [_, ..] => Potash::MayHold,
            [] if names_potash && says(&OTHER_OF_A_BLEND) => Potash::MayHold,
            [] if names_potash => Potash::ByName(plain_name(what)),
            [] if is_all_known && says(&WITHOUT_POTASH) => Potash::No,
            // Manure, a blend, a name of the trade: nobody knows.
            [] => Potash::MayHold,
        }
    }
}

fn is_number(word: &str) -> bool {
    word.chars().all(|c| c.is_ascii_digit())
}

/// The third figure of a grade, percent of K2O: `0-0-60`, `12-40-0-10S`. `None` of any other text.
fn k2o_of_grade(text: &str) -> Option<f64> {
    let parts: Vec<&str> = text.split('-').collect();
    let is_more = |part: &&str| part.starts_with(|c: char| c.is_ascii_digit());
    if parts.len() < 3 || !parts[3..].iter().all(is_more) {
        return None;
    }
    let percent = |part: &str| part.parse().ok().filter(|percent| (0.0..=100.0).contains(percent));
    let [_, _, k2o] = [percent(parts[0])?, percent(parts[1])?, percent(parts[2])?];
    Some(k2o)
}

/// Words that say how a thing is made or sold, not what is in it.
const SAYS_NOTHING: [&str; 17] = [
    "of",
    "as",
    "ag",
    "agricultural",
    "pelletized",
    "pelleted",
    "granular",
    "ground",
    "liquid",
    "dry",
    "hydrated",
    "high",
    "hi",
    "cal",
    "calcitic",
    "dolomitic",
    "elemental",
];

/// Words of nutrients and products that hold no potash.
const WITHOUT_POTASH: [&str; 50] = [
    "n",
    "p",
    "s",
    "b",
    "zn",
    "mn",
    "cu",
    "fe",
    "mo",
    "ca",
    "mg",
    "p2o5",
    "so4",
    "nitrogen",
    "phosphate",
    "phosphorus",
    "sulfur",
    "sulphur",
    "sulfate",
    "sulphate",
    "boron",
    "zinc",
    "manganese",
    "copper",
    "calcium",
    "magnesium",
    "lime",
    "limestone",
    "aglime",
    "dolomite",
    "gypsum",
    "urea",
    "uan",
    "uan28",
    "uan32",
    "map",
    "dap",
    "tsp",
    "ams",
    "can",
    "anhydrous",
    "ammonia",
    "ammonium",
    "nitrate",
    "superphosphate",
    "polyphosphate",
    "monoammonium",
    "diammonium",
    "magnesia",
    "carbonate",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grade_says_how_much_potash_and_an_unknown_name_nothing() {
        assert_eq!(Potash::of("Muriate 0-0-60"), Potash::K2o(0.6));
        assert_eq!(Potash::of("9-23-30"), Potash::K2o(0.3));
        assert_eq!(Potash::of("12-40-0-10S"), Potash::No);
        assert_eq!(Potash::of("0\u{2013}0\u{2013}60"), Potash::K2o(0.6));
        assert_eq!(Potash::of("P & K 0-26-26"), Potash::K2o(0.26));
        assert_eq!(Potash::of("MAP 11-52-0"), Potash::No);
        assert_eq!(Potash::of("potassium sulfate"), Potash::ByName("potassium sulfate".to_owned()));
        assert_eq!(Potash::of("chicken litter"), Potash::MayHold);
        assert_eq!(Potash::of("what the neighbor had left"), Potash::MayHold);
    }

    #[test]
    fn k2o_goes_before_the_grade_it_is_spread_as() {
        for name in ["K2O", "K\u{2082}O", "K2O as 0-0-60", "K2O (0-0-60)"] {
            assert_eq!(Potash::of(name), Potash::K2o(1.0), "{name}");
        }
        // The amount may be one of the product.
        for name in ["Granular 60% K2O", "0-0-60 K2O", "P2O5 and K2O"] {
            assert_eq!(Potash::of(name), Potash::MayHold, "{name}");
        }
    }

    #[test]
    fn one_word_without_potash_does_not_make_the_rest_so() {
        for name in ["Potassium-magnesium sulfate", "sulfate of potash-magnesia", "K-Mag", "Mono-potassium phosphate"] {
            assert!(matches!(Potash::of(name), Potash::ByName(_)), "{name}");
        }
        for name in [
            "Lime with manure",
            "Manure-lime",
            "11-52-0 with manure",
            "0-0-60 + manure",
            "11-52-0 and potash",
            "46-0-0, 0-0-60",
            "N-P-K",
            "10-34",
            "2024",
            "",
        ] {
            assert_eq!(Potash::of(name), Potash::MayHold, "{name}");
        }
        for name in
            ["Ag  Lime", "Hi-Cal lime", "urea-ammonium nitrate 28%", "Urea + AMS", "Calcium carbonate", "S", "P2O5"]
        {
            assert_eq!(Potash::of(name), Potash::No, "{name}");
        }
    }
}
