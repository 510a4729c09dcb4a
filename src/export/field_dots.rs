//! One picture of the fields of a sheet: a dot a field on a ruler of CEC, of potassium, of calcium and magnesium.

mod lanes;
pub(super) mod ruler;

use super::map_png::canvas::{Canvas, Spot};
use super::map_png::text::{Lettering, Letters};
use super::map_png::{INK, WIDTH_PX};
use crate::chemistry::Cation;
use crate::fields::{CA_MG_PERCENT, Field, Ground, HoldingClass, K_PERCENT, Part, SideBySide, Standing};
use crate::units::thousands;
use ruler::{Dot, MARGIN_PX, Mark, Placed, Ruler};

const TITLE: Letters = Letters { size_px: 42.0, weight_px: 1.3 };
const WORDS: Letters = Letters { size_px: 27.0, weight_px: 0.5 };
/// Most fields all named on the ruler of CEC.
const MOST_NAMED: usize = 40;
/// Fields named where there are more: those that hold least.
const NAMED_OF_MANY: usize = 10;
/// Most fields all named on the other rulers, and how many at either end where there are more.
const MOST_NAMED_BELOW: usize = 12;
const NAMED_AT_ENDS: usize = 3;

/// The picture: PNG bytes, 1080 pixels wide; the same result gives the same bytes.
pub fn field_dots_png(result: &SideBySide) -> Vec<u8> {
    let lettering = Lettering::new();
    let rulers: Vec<Ruler> =
        [cec_ruler(result), potassium_ruler(result), ca_mg_ruler(result)].into_iter().flatten().collect();
    let placed: Vec<Placed<'_>> = rulers.iter().map(|ruler| Placed::of(ruler, &lettering)).collect();
    let room_px = WIDTH_PX as f32 - 2.0 * MARGIN_PX;
    let title = lettering.wrap("Fields side by side. Which holds least?", TITLE, room_px, 2);
    let n_fields = match result.fields.len() {
        1 => "1 field".to_owned(),
        n => format!("{} fields", thousands(n as f64, 0)),
    };
    // A picture is passed on: the folders of the sheet are left off.
    let file = result.file.rsplit(['/', '\\']).next().unwrap_or("");
    let under = lettering.wrap(&format!("{file}   {n_fields}"), WORDS, room_px, 2);
    let most_a_dot = placed.iter().map(|placed| placed.fields_a_dot).max().unwrap_or(1);
    let captions = captions(result, rulers.len(), most_a_dot);
    let caption: Vec<String> =
        captions.iter().flat_map(|sentence| lettering.wrap(sentence, WORDS, room_px, 6)).collect();

    const GAP_PX: f32 = 30.0;
    let mut top = 36.0;
    let head_px = title.len() as f32 * TITLE.line_px() + under.len() as f32 * WORDS.line_px() + GAP_PX;
    let mut caption_top = top + head_px;
    let mut tops = Vec::new();
    for placed in &placed {
        tops.push(caption_top);
        caption_top += placed.height_px() + GAP_PX;
    }
    let height = caption_top + caption.len() as f32 * WORDS.line_px() + 40.0;
    let mut canvas = Canvas::blank(WIDTH_PX, height.ceil() as u32);
    for (lines, letters) in [(&title, TITLE), (&under, WORDS)] {
        for line in lines {
            lettering.write(&mut canvas, line, letters, Spot { x: MARGIN_PX, y: top }, INK);
            top += letters.line_px();
        }
    }
    for (placed, top) in placed.iter().zip(&tops) {
        placed.draw(&mut canvas, &lettering, *top);
    }
    for (index, line) in caption.iter().enumerate() {
        let at = Spot { x: MARGIN_PX, y: caption_top + index as f32 * WORDS.line_px() };
        lettering.write(&mut canvas, line, WORDS, at, INK);
    }
    canvas.png()
}

/// Fields that can stand on the ruler of CEC, least first.
fn on_cec_ruler(result: &SideBySide) -> impl Iterator<Item = &Field> {
    let compares = |field: &&Field| {
        let kind = field.test.cec.as_ref().map(|cec| cec.kind);
        result.group.kind.zip(kind).is_some_and(|(group, kind)| group.compares_with(kind))
    };
    result.fields.iter().filter(compares)
}

fn cec_ruler(result: &SideBySide) -> Option<Ruler> {
    let kind = result.group.kind?;
    let n_dots = on_cec_ruler(result).count();
    let n_named = if n_dots <= MOST_NAMED { n_dots } else { NAMED_OF_MANY };
    let mut dots = Vec::with_capacity(n_dots);
    for (index, field) in on_cec_ruler(result).enumerate() {
        let cec = field.test.cec.as_ref()?;
        let is_least = field.standing == Standing::HoldsLeast;
        let mut after = cec.figure.text(1);
        if field.test.counts_lime() {
            after += "*";
        }
        if field.test.ground == Ground::Fallow {
            after += ", fallow";
        }
        if is_least {
            after += ", holds least of the group";
        }
        dots.push(dot(field, cec.figure.value, if index < n_named { after } else { String::new() }, is_least));
    }
    let most = dots.last().map_or(0.0, |dot| dot.value);
    let mut marks = Vec::new();
    let mut range = [0.0, most * 1.04];
    if kind.why_no_class().is_none() {
        let [little, some] = HoldingClass::EDGES_MEQ_100G;
        range[1] = range[1].max(some * 1.25);
        marks.push(vec![
            Mark::Span([0.0, little], "little".to_owned()),
            Mark::Span([little, some], "some".to_owned()),
            Mark::Span([some, f64::MAX], "much".to_owned()),
        ]);
    }
    if let Some(median) = result.group.median {
        marks.push(vec![Mark::Tick(median, format!("middle of the group {median:.1}"))]);
    }
    let unit = if kind.unit().is_empty() { "unit not printed" } else { kind.unit() };
    Some(Ruler { heading: format!("CEC, {unit}: how much the ground can hold"), range, end: f64::MAX, dots, marks })
}

fn potassium_ruler(result: &SideBySide) -> Option<Ruler> {
    let value = |field: &Field| Some(field.test.share(Part::Base(Cation::K))?.figure.value);
    let words =
        |field: &Field| field.test.share(Part::Base(Cation::K)).map_or(String::new(), |share| share.figure.text(1));
    let dots = share_dots(result, value, words)?;
    let [low, high] = K_PERCENT;
    let most = dots.last().map_or(0.0, |dot| dot.value);
    let words = format!("{low:.0} to {high:.0}: common practice");
    Some(Ruler {
        heading: "Potassium, percent of the CEC".to_owned(),
        range: [0.0, (most * 1.04).max(high * 1.2)],
        end: f64::MAX,
        dots,
        marks: vec![vec![Mark::Bracket(K_PERCENT, words)]],
    })
}

fn ca_mg_ruler(result: &SideBySide) -> Option<Ruler> {
    let words = |field: &Field| field.test.ca_mg_percent().map_or(String::new(), |sum| format!("{sum:.0}"));
    let dots = share_dots(result, |field| field.test.ca_mg_percent(), words)?;
    let least = dots.first().map_or(0.0, |dot| dot.value);
    let most = dots.last().map_or(0.0, |dot| dot.value);
    let from = ((least - 2.0) / 10.0).floor().clamp(0.0, 5.0) * 10.0;
    let end = most.max(100.0);
    let words = format!("{CA_MG_PERCENT:.0}: common practice on silt loam and clay");
    Some(Ruler {
        heading: "Calcium and magnesium together, percent of the CEC".to_owned(),
        range: [from, end],
        end,
        dots,
        marks: vec![vec![Mark::Tick(CA_MG_PERCENT, words)]],
    })
}

/// Dots of a share, ascending; all named where there are few, else those at the ends. `None` of none.
fn share_dots(
    result: &SideBySide,
    value: impl Fn(&Field) -> Option<f64>,
    words: impl Fn(&Field) -> String,
) -> Option<Vec<Dot>> {
    let mut fields: Vec<(f64, &Field)> =
        result.fields.iter().filter_map(|field| Some((value(field)?, field))).collect();
    fields.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = fields.len();
    let is_named = |index: usize| n <= MOST_NAMED_BELOW || index < NAMED_AT_ENDS || index >= n - NAMED_AT_ENDS;
    let dots = fields.iter().enumerate().map(|(index, (value, field))| {
        dot(field, *value, if is_named(index) { words(field) } else { String::new() }, false)
    });
    Some(dots.collect()).filter(|dots: &Vec<Dot>| !dots.is_empty())
}

fn dot(field: &Field, value: f64, after: String, is_marked: bool) -> Dot {
    let is_open = field.test.ground == Ground::Fallow;
    Dot { value, is_open, name: field.test.name.clone(), after, is_marked }
}

fn captions(result: &SideBySide, n_rulers: usize, fields_a_dot: usize) -> Vec<String> {
    let mut text = Vec::new();
    let n_on_ruler = on_cec_ruler(result).count();
    if n_rulers == 0 {
        text.push("The sheet gives neither CEC nor shares of it, so there is no ruler to stand on.".to_owned());
    } else if n_on_ruler > MOST_NAMED {
        let lower = format!("on the other rulers the {NAMED_AT_ENDS} at either end");
        text.push(format!("One dot a field. Named are the {NAMED_OF_MANY} that hold least; {lower}."));
    } else if result.fields.len() > MOST_NAMED_BELOW && n_rulers > 1 {
        text.push(format!("One dot a field. On the lower rulers the {NAMED_AT_ENDS} at either end are named."));
    }
    if fields_a_dot > 1 {
        text.push(format!("Where dots are many, one stands for up to {fields_a_dot} fields."));
    }
    let n_without = result.fields.len() - n_on_ruler;
    if n_without > 0 && n_on_ruler > 0 {
        let fields =
            if n_without == 1 { "1 field has" } else { &format!("{} fields have", thousands(n_without as f64, 0)) };
        text.push(format!("{fields} no CEC that could stand on the ruler."));
    }
    if result.fields.iter().any(|field| field.test.ground == Ground::Fallow) {
        text.push("Open ring: fallow, left out of the middle of the group.".to_owned());
    }
    if result.fields.iter().any(|field| field.standing == Standing::HoldsLeast) {
        text.push(
            "Least of the group: at or below three quarters of the middle CEC (a rule of thumb of this program)."
                .to_owned(),
        );
    }
    if result.fields.iter().any(|field| field.test.counts_lime()) {
        text.push("*: lime in the soil counts as calcium, so the CEC reads too high.".to_owned());
    }
    if !result.evidence.is_empty() {
        text.push("Common practice: what the trade says, without a source.".to_owned());
        text.push(result.evidence.join(" "));
    }
    text
}
