//! `[hold]`: what one pass may bring, by what the ground can hold.

use super::Answer;
use super::passes_section::yes_no;
use super::reader::{Reader, Section, ranged, wrong};
use crate::fields::HoldingClass;
use crate::rates::HoldSettings;

/// Potash of one pass on any ground, unless stated, lb K2O/ac. Source: field notes, a heuristic.
const K2O_MOST_LB_AC: f64 = 200.0;
/// CEC up to which potassium is not built up, unless stated, meq/100 g. Source: field notes: several sources do not build
/// up at 5 to 6 and below (Purdue educator \[R2\], Minnesota \[R2\]).
const NO_BUILD_UP_TO_CEC: f64 = 5.0;
/// Lime of one pass, unless stated, short tons of product an acre: tilled 2 (Ohio practice \[R2\], NCDA report page \[R\]),
/// on the surface 1.5 (NCDA: 1 to 1.5 \[R\]).
const LIME_SHORT_TON_AC: [f64; 2] = [2.0, 1.5];

/// `[hold]`, with its defaults told.
pub(super) fn hold<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> HoldSettings {
    let mut section = reader.section(root, "hold");
    let edges = edges(reader, &mut section);
    let k_rise_percent_of_cec = ranged(reader, &mut section, "k_rise_percent_of_cec", 0.1, 10.0);
    let k2o_most_lb_ac = or_default(reader, &mut section, "k2o_most_lb_ac", [10.0, 600.0], K2O_MOST_LB_AC);
    let [tilled, surface] = LIME_SHORT_TON_AC;
    let lime_tilled_short_ton_ac = or_default(reader, &mut section, "lime_tilled_short_ton_ac", [0.1, 10.0], tilled);
    let lime_surface_short_ton_ac = or_default(reader, &mut section, "lime_surface_short_ton_ac", [0.1, 10.0], surface);
    if let (Some(tilled), Some(surface)) = (lime_tilled_short_ton_ac, lime_surface_short_ton_ac)
        && surface > tilled
    {
        let message =
            format!("{surface} short tons on the surface, but {tilled} worked in: the first must not be more");
        wrong(reader, &section, "lime_surface_short_ton_ac", message);
    }
    let no_build_up_to_cec = or_default(reader, &mut section, "no_build_up_to_cec", [0.0, 60.0], NO_BUILD_UP_TO_CEC);
    let fall_n_on_little = yes_no(reader, &mut section, "fall_n_on_little");
    reader.finish(section);
    HoldSettings {
        edges_meq_100g: edges,
        k_rise_percent_of_cec,
        k2o_most_lb_ac,
        lime_tilled_short_ton_ac,
        lime_surface_short_ton_ac,
        fall_n_on_little,
        no_build_up_to_cec,
    }
}

fn edges<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> [f64; 2] {
    let default = HoldingClass::EDGES_MEQ_100G;
    match reader.numbers(section, "edges_cec") {
        Answer::Given(edges) => match edges[..] {
            [little, some] if 0.0 < little && little < some && some <= 60.0 => [little, some],
            _ => {
                wrong(
                    reader,
                    section,
                    "edges_cec",
                    "two CECs are expected, ascending, above 0 and at most 60".to_owned(),
                );
                default
            }
        },
        Answer::Absent => {
            reader.default_row("hold.edges_cec", &format!("[{}, {}]", default[0], default[1]));
            default
        }
        Answer::Open | Answer::Unknown => default,
    }
}

/// A stated limit, or the default, which is told; `None` where the user answers "unknown".
fn or_default<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    key: &str,
    [least, most]: [f64; 2],
    default: f64,
) -> Option<f64> {
    if section.has(key) {
        return ranged(reader, section, key, least, most);
    }
    section.take(key);
    reader.default_row(&section.path_of(key), &default.to_string());
    Some(default)
}
