//! Joining the sheet's sample names to the names of points, proposed only where it is one to one.

use std::collections::{BTreeMap, BTreeSet};

use crate::samples::NameMatch;

/// Names of the points of a file, by attribute.
#[derive(Debug, Clone)]
pub struct PointNames {
    /// The attribute that holds them.
    pub attribute: String,
    /// One a point, in file order; `None` = not filled.
    pub names: Vec<Option<String>>,
}

/// How names of the sheet meet names of the points.
#[derive(Debug, Clone, PartialEq)]
pub enum Join {
    /// Every sample has one point of its own, by this attribute.
    OneToOne {
        /// The attribute of the points.
        attribute: String,
        /// How names are compared.
        matching: NameMatch,
        /// Points without a sample.
        points_left: Vec<String>,
    },
    /// No attribute joins all samples; the best try, and what is left on each side.
    Left {
        /// The attribute that joins most.
        attribute: String,
        /// Names of samples without a point.
        samples: Vec<String>,
        /// Names of points without a sample.
        points: Vec<String>,
    },
}

/// Tries every attribute, letter by letter and then by the numbers in the names alone.
///
/// One to one: every name of the sheet meets exactly one point, and no point meets two names. `None` when the points have
/// no attributes.
pub fn join(sample_names: &[&str], attributes: &[PointNames]) -> Option<Join> {
    let mut best: Option<(usize, Join)> = None;
    for matching in [NameMatch::Letters, NameMatch::Number] {
        for of in attributes {
            let (n_joined, samples, points) = left_over(sample_names, of, matching);
            if samples.is_empty() && n_joined > 0 {
                return Some(Join::OneToOne { attribute: of.attribute.clone(), matching, points_left: points });
            }
            if matching == NameMatch::Letters && best.as_ref().is_none_or(|(most, _)| n_joined > *most) {
                best = Some((n_joined, Join::Left { attribute: of.attribute.clone(), samples, points }));
            }
        }
    }
    best.map(|(_, join)| join)
}

/// How many samples have a point, and the names left on each side. A name that is not one to one counts as left.
fn left_over(sample_names: &[&str], of: &PointNames, matching: NameMatch) -> (usize, Vec<String>, Vec<String>) {
    let mut samples: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for name in sample_names {
        samples.entry(matching.key(name)).or_default().insert(name.trim());
    }
    let mut points: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for name in of.names.iter().flatten() {
        points.entry(matching.key(name)).or_default().push(name.trim());
    }
    let is_joined = |key: &String| {
        !key.is_empty()
            && samples.get(key).is_some_and(|names| names.len() == 1)
            && points.get(key).is_some_and(|names| names.len() == 1)
    };
    let n_joined = samples.keys().filter(|key| is_joined(key)).count();
    let samples_left = samples.iter().filter(|(key, _)| !is_joined(key)).flat_map(|(_, names)| names.iter());
    let samples_left = samples_left.map(|name| (*name).to_owned()).collect();
    let points_left = points.iter().filter(|(key, _)| !is_joined(key)).flat_map(|(_, names)| names.iter());
    let points_left = points_left.map(|name| (*name).to_owned()).collect();
    (n_joined, samples_left, points_left)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(attribute: &str, names: &[&str]) -> PointNames {
        PointNames {
            attribute: attribute.to_owned(),
            names: names.iter().map(|name| Some((*name).to_owned()).filter(|name| !name.is_empty())).collect(),
        }
    }

    #[test]
    fn names_alike_join_by_the_attribute_that_holds_them() {
        let attributes = [points("time", &["a", "b"]), points("name", &["2", "1"])];
        assert_eq!(
            join(&["1", "2"], &attributes),
            Some(Join::OneToOne { attribute: "name".to_owned(), matching: NameMatch::Letters, points_left: vec![] })
        );
    }

    #[test]
    fn numbers_in_the_names_join_where_they_are_one_to_one() {
        let joined = join(&["12", "7"], &[points("name", &["A-012", "A-007", "A-013"])]);
        assert_eq!(
            joined,
            Some(Join::OneToOne {
                attribute: "name".to_owned(),
                matching: NameMatch::Number,
                points_left: vec!["A-013".to_owned()]
            })
        );
        // `A-12` and `B-12` both hold 12: which is meant is not guessed.
        let left = join(&["12", "7"], &[points("name", &["A-12", "B-12", "A-7"])]);
        assert_eq!(
            left,
            Some(Join::Left {
                attribute: "name".to_owned(),
                samples: vec!["12".to_owned(), "7".to_owned()],
                points: vec!["A-12".to_owned(), "A-7".to_owned(), "B-12".to_owned()]
            })
        );
    }

    #[test]
    fn what_is_left_on_each_side_is_listed() {
        let left = join(&["1", "2", "3"], &[points("name", &["1", "2", "4", ""])]);
        assert_eq!(
            left,
            Some(Join::Left {
                attribute: "name".to_owned(),
                samples: vec!["3".to_owned()],
                points: vec!["4".to_owned()]
            })
        );
        assert_eq!(join(&["1"], &[]), None);
    }

    #[test]
    fn a_point_twice_is_not_one_to_one() {
        assert!(matches!(join(&["1", "2"], &[points("name", &["1", "1", "2"])]), Some(Join::Left { .. })));
    }
}
