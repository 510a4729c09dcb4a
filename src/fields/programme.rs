//! One programme on unlike ground.

use std::collections::BTreeMap;

use super::cores::plain_name;
use super::group::LEAST_OF_MEDIAN;
use super::{Field, Ground, Group};

/// Fields that get the same and cannot hold the same.
#[derive(Debug, Clone, PartialEq)]
pub struct UnlikeGround {
    /// The programme as printed.
    pub programme: String,
    /// Positions of its fields, least CEC first.
    pub fields: Vec<usize>,
}

/// Programmes on cropped fields of which one has at most three quarters of another's CEC. In the order of names.
pub(super) fn unlike_ground(fields: &[Field], group: &Group) -> Vec<UnlikeGround> {
    let mut by_programme: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, field) in fields.iter().enumerate() {
        let is_compared = field.test.ground == Ground::Cropped && group.compares(&field.test);
        if let (Some(programme), true) = (&field.test.programme, is_compared) {
            by_programme.entry(plain_name(programme)).or_default().push(index);
        }
    }
    let cec = |index: usize| fields[index].test.cec.as_ref().map_or(f64::NAN, |cec| cec.figure.value);
    by_programme
        .into_values()
        .filter(|on_it| {
            let (least, most) = (on_it.first().map(|i| cec(*i)), on_it.last().map(|i| cec(*i)));
            least.zip(most).is_some_and(|(least, most)| least <= LEAST_OF_MEDIAN * most)
        })
        .map(|on_it| {
            let names = on_it.iter().filter_map(|index| fields[*index].test.programme.clone());
            UnlikeGround { programme: names.min().unwrap_or_default(), fields: on_it }
        })
        .collect()
}
