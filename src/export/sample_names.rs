//! Names of the samples as pictures print them: one a place, short, and still telling one sample from another.

use crate::cell_grid::Site;
use crate::samples::Sample;

/// Longest name printed, letters; a longer one loses its middle.
const LONGEST: usize = 24;
/// Most samples of one place named one by one.
const MOST_OF_ONE_PLACE: usize = 3;
/// A start that all names share is left off from this many letters on.
const LEAST_START: usize = 6;

/// One name a place.
pub(super) struct SampleNames {
    /// What all names begin with, left off; empty: nothing.
    start: String,
    /// Sorted by (easting, northing).
    by_place: Vec<(Site, String)>,
}

impl SampleNames {
    /// Names of all places; samples of one place stand together.
    pub(super) fn of(samples: &[Sample]) -> SampleNames {
        SampleNames::join(samples.iter().map(|sample| (sample.site, sample.id.trim())).collect())
    }

    /// The same of places with names.
    pub(super) fn join(mut ids: Vec<(Site, &str)>) -> SampleNames {
        let start = shared_start(&ids).to_owned();
        // Stable: samples of one place keep the order of the sheet.
        ids.sort_by(|(a, _), (b, _)| order(*a, *b));
        let mut by_place = Vec::new();
        for of_place in ids.chunk_by(|(a, _), (b, _)| order(*a, *b).is_eq()) {
            let n_named = if of_place.len() > MOST_OF_ONE_PLACE { MOST_OF_ONE_PLACE - 1 } else { of_place.len() };
            let names: Vec<String> =
                of_place[..n_named].iter().map(|(_, id)| without_middle(&id[start.len()..])).collect();
            let more = match of_place.len() - n_named {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            by_place.push((of_place[0].0, format!("{}{more}", names.join(", "))));
        }
        SampleNames { start, by_place }
    }

    /// The name at a place; empty where there is none.
    pub(super) fn at(&self, site: Site) -> &str {
        let found = self.by_place.binary_search_by(|(other, _)| order(*other, site));
        found.map_or("", |index| &self.by_place[index].1)
    }

    /// The sentence on the start that is left off, where one is.
    pub(super) fn start_words(&self) -> Option<String> {
        let start = self.start.trim();
        (!start.is_empty()).then(|| format!("All names begin with \u{201c}{start}\u{201d}, left off here."))
    }
}

fn order(a: Site, b: Site) -> std::cmp::Ordering {
    a.east_m.total_cmp(&b.east_m).then(a.north_m.total_cmp(&b.north_m))
}

/// What all names begin with, up to a mark or a blank, if long and if something is left of every name.
fn shared_start<'a>(ids: &[(Site, &'a str)]) -> &'a str {
    let Some((_, first)) = ids.first().filter(|_| ids.len() > 1) else { return "" };
    let mut shared = *first;
    for (_, id) in ids {
        let n_bytes = shared.char_indices().zip(id.chars()).take_while(|((_, a), b)| a == b);
        shared = &first[..n_bytes.map(|((at, letter), _)| at + letter.len_utf8()).last().unwrap_or(0)];
    }
    let end = shared.char_indices().rfind(|(_, letter)| !letter.is_alphanumeric());
    let shared = end.map_or("", |(at, letter)| &first[..at + letter.len_utf8()]);
    let leaves_some = ids.iter().all(|(_, id)| id.len() > shared.len());
    if shared.chars().count() >= LEAST_START && leaves_some { shared } else { "" }
}

/// A long name with an ellipsis for its middle: names mostly differ at their ends.
fn without_middle(name: &str) -> String {
    let letters: Vec<char> = name.chars().collect();
    if letters.len() <= LONGEST {
        return name.to_owned();
    }
    let head: String = letters[..LONGEST / 2 - 1].iter().collect();
    let tail: String = letters[letters.len() - LONGEST / 2..].iter().collect();
    format!("{}\u{2026}{}", head.trim_end(), tail.trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(east_m: f64) -> Site {
        Site { east_m, north_m: 7.0 }
    }

    fn names(ids: &[(f64, &str)]) -> (Vec<String>, Option<String>) {
        let names = SampleNames::join(ids.iter().map(|(east_m, id)| (site(*east_m), *id)).collect());
        (ids.iter().map(|(east_m, _)| names.at(site(*east_m)).to_owned()).collect(), names.start_words())
    }

    #[test]
    fn samples_of_one_place_stand_together_in_the_order_of_the_sheet() {
        let (found, _) = names(&[(5.0, "B"), (1.0, "C"), (5.0, "A")]);
        assert_eq!(found, ["B, A", "C", "B, A"]);
        let (found, _) = names(&[(0.0, "1"), (0.0, "2"), (0.0, "3"), (0.0, "4"), (0.0, "5")]);
        assert_eq!(found[0], "1, 2 and 3 more");
        assert_eq!(SampleNames::join(vec![(site(1.0), "A")]).at(site(2.0)), "");
    }

    #[test]
    fn a_long_start_of_all_names_is_left_off_and_said() {
        let (found, said) = names(&[(0.0, "2025 North-007"), (1.0, "2025 North-12"), (2.0, "2025 North-1")]);
        assert_eq!(found, ["007", "12", "1"]);
        assert_eq!(said.expect("a sentence"), "All names begin with \u{201c}2025 North-\u{201d}, left off here.");
        for short in [&[(0.0, "A-01"), (1.0, "A-02")][..], &[(0.0, "Norths-"), (1.0, "Norths-2")], &[(0.0, "Norths-1")]]
        {
            assert_eq!(names(short), (short.iter().map(|(_, id)| (*id).to_owned()).collect(), None));
        }
    }

    #[test]
    fn a_long_name_keeps_its_ends_and_odd_letters_do_no_harm() {
        let (found, _) = names(&[(0.0, "Lower bottom by the old mill, sample 17"), (1.0, "x")]);
        assert!(found[0].starts_with("Lower") && found[0].ends_with("sample 17"), "{}", found[0]);
        assert!(found[0].chars().count() <= LONGEST);
        let odd = ["\u{7530}\u{7530} \u{7530}\u{7530}-\u{e9}1", "\u{7530}\u{7530} \u{7530}\u{7530}-\u{ea}2"];
        let (found, said) = names(&[(0.0, odd[0]), (1.0, odd[1])]);
        assert_eq!(found, ["\u{e9}1", "\u{ea}2"]);
        assert!(said.is_some());
    }
}
