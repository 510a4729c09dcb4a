//! Words that say ground lies fallow.

/// What a text says of fallow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fallow {
    /// Plainly that ground lies fallow: `summer fallow`, `Brache`.
    Plain,
    /// Something else about fallow: `wheat-fallow` is a rotation.
    InPart,
    /// Nothing.
    Unsaid,
}

/// Words for fallow; French, German and Spanish from memory.
const FALLOW: [&str; 9] =
    ["fallow", "fallowed", "idle", "idled", "unfarmed", "jach\u{e8}re", "jachere", "brache", "barbecho"];
/// Two words for fallow.
const TWO_WORDS: [[&str; 2]; 2] = [["set", "aside"], ["not", "farmed"]];
/// Words beside it that leave it plain.
const LEAVES_PLAIN: [&str; 20] = [
    "bare", "green", "black", "summer", "long", "chem", "chemical", "left", "in", "is", "lies", "lying", "ground",
    "land", "field", "this", "year", "en", "nue", "tierra",
];

/// What a text says of fallow, by whole words: `middle` is not `idle`.
pub fn fallow(text: &str) -> Fallow {
    let text = text.to_lowercase();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()).collect();
    let (mut is_said, mut is_plain, mut at) = (false, true, 0);
    while let Some(word) = words.get(at) {
        let is_two = words.get(at + 1).is_some_and(|next| TWO_WORDS.contains(&[*word, *next]));
        // `summerfallow` in one word.
        let kind = word.strip_suffix("fallow");
        if is_two || FALLOW.contains(word) || kind.is_some_and(|kind| LEAVES_PLAIN.contains(&kind)) {
            is_said = true;
        } else {
            is_said |= kind.is_some();
            is_plain &= LEAVES_PLAIN.contains(word);
        }
        at += if is_two { 2 } else { 1 };
    }
    match (is_said, is_plain) {
        (false, _) => Fallow::Unsaid,
        (true, true) => Fallow::Plain,
        (true, false) => Fallow::InPart,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fallow_is_told_by_whole_words() {
        for text in [
            "Fallow",
            "summer fallow",
            "summerfallow",
            "Set-aside",
            "en jach\u{e8}re",
            "Brache",
            "barbecho",
            "idle 2024",
        ] {
            assert_eq!(fallow(text), Fallow::Plain, "{text}");
        }
        for text in ["wheat-fallow", "wheatfallow", "not fallow", "corn after set aside"] {
            assert_eq!(fallow(text), Fallow::InPart, "{text}");
        }
        for text in ["middle", "corn", "", "set", "Bracheland-M\u{fc}hle", "aside"] {
            assert_eq!(fallow(text), Fallow::Unsaid, "{text}");
        }
    }
}
