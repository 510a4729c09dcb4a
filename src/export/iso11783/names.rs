//! Names as a task set takes them: short, one line, and each told from the others.

/// Longest name, bytes. The schema counts letters; a screen that counts bytes must not cut one either.
const LONGEST: usize = 32;
/// What stands for a name without a letter.
const UNNAMED: &str = "unnamed";

/// A name of at most 32 bytes, cut between two letters.
pub(super) fn short_name(name: &str) -> String {
    let in_one_line = name.replace(|letter: char| letter.is_control() || is_no_xml(letter), " ");
    let cut = cut_to(in_one_line.trim(), LONGEST);
    if cut.is_empty() { UNNAMED.to_owned() } else { cut.to_owned() }
}

/// Short names, all unlike: one that is there already gets a number at its end.
pub(super) fn distinct_names<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut taken: Vec<String> = Vec::new();
    for name in names {
        let short = short_name(name);
        let numbered = |number: usize| {
            let end = format!(" ({number})");
            format!("{}{end}", cut_to(&short, LONGEST - end.len()))
        };
        let candidates = std::iter::once(short.clone()).chain((2..).map(numbered));
        taken.extend(candidates.into_iter().find(|candidate| !taken.contains(candidate)));
    }
    taken
}

/// Letters that no XML 1.0 text may hold.
fn is_no_xml(letter: char) -> bool {
    matches!(letter, '\u{fffe}' | '\u{ffff}')
}

fn cut_to(text: &str, bytes: usize) -> &str {
    let end = text.char_indices().map(|(at, letter)| at + letter.len_utf8()).take_while(|&end| end <= bytes).last();
    text[..end.unwrap_or(0)].trim_end()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn long_names_are_cut_between_letters_and_numbered() {
        let long = "Potash of a name that is far too long to show";
        assert_eq!(short_name(long), "Potash of a name that is far too");
        assert_eq!(short_name("  Düngekalk\n0-0\t "), "Düngekalk 0-0");
        assert_eq!(short_name(&"ß".repeat(17)), "ß".repeat(16));
        assert_eq!([" ", "\u{1}", "\u{ffff}"].map(short_name), [UNNAMED; 3]);
        let names = [&format!("{long} 1")[..], &format!("{long} 2"), "Lime", "Lime", long];
        let expected = [
            "Potash of a name that is far too",
            "Potash of a name that is far (2)",
            "Lime",
            "Lime (2)",
            "Potash of a name that is far (3)",
        ];
        assert_eq!(distinct_names(names), expected);
    }

    proptest! {
        #[test]
        fn any_names_become_short_and_unlike(names in proptest::collection::vec("\\PC{0,40}", 0..12)) {
            let short = distinct_names(names.iter().map(String::as_str));
            prop_assert_eq!(short.len(), names.len());
            for (index, name) in short.iter().enumerate() {
                prop_assert!(!name.is_empty() && name.len() <= 32 && name.trim() == name);
                prop_assert!(!short[..index].contains(name));
            }
        }
    }
}
