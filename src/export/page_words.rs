//! The words round a picture: title and field line on top, sentences at the foot.

use super::map_png::canvas::{Canvas, Spot};
use super::map_png::text::{Lettering, Letters};
use super::map_png::{INK, MARGIN_PX, MOST_CAPTION_LINES, MOST_HEAD_LINES, TITLE, WIDTH_PX, WORDS};

const TITLE_TOP_PX: f32 = 36.0;
/// From the words on top to what is drawn, and from the last line to the end of the paper, pixels.
const GAP_PX: f32 = 24.0;
const FOOT_PX: f32 = 34.0;

/// Words wrapped to the width of the paper.
pub(super) struct PageWords {
    title: Vec<String>,
    field: Vec<String>,
    caption: Vec<String>,
}

impl PageWords {
    /// Wraps the words; `taken_px` at the right of the title stay free for the north line.
    pub(super) fn wrap(
        lettering: &Lettering,
        title: &str,
        field_line: &str,
        caption: &[String],
        taken_px: f32,
    ) -> PageWords {
        let room_px = WIDTH_PX as f32 - 2.0 * MARGIN_PX;
        let head = |text: &str, letters| lettering.wrap(text, letters, room_px - taken_px, MOST_HEAD_LINES);
        let sentence = |text: &String| lettering.wrap(text, WORDS, room_px, MOST_CAPTION_LINES);
        PageWords {
            title: head(title, TITLE),
            field: head(field_line, WORDS),
            caption: caption.iter().flat_map(sentence).collect(),
        }
    }

    /// Middle of the upper end of the north line.
    pub(super) fn north() -> Spot {
        Spot { x: WIDTH_PX as f32 - MARGIN_PX - 14.0, y: TITLE_TOP_PX + 2.0 }
    }

    /// Where the drawing begins, pixels from the top.
    pub(super) fn drawing_top_px(&self) -> f32 {
        self.field_top_px() + self.field.len() as f32 * WORDS.line_px() + GAP_PX
    }

    /// Height of the sentences and the paper under them, pixels.
    pub(super) fn foot_px(&self) -> f32 {
        self.caption.len() as f32 * WORDS.line_px() + FOOT_PX
    }

    /// Writes all words, the sentences from `caption_top_px`.
    pub(super) fn draw(&self, canvas: &mut Canvas, lettering: &Lettering, caption_top_px: f32) {
        let mut write = |lines: &[String], letters: Letters, top: f32| {
            for (index, line) in lines.iter().enumerate() {
                let at = Spot { x: MARGIN_PX, y: top + index as f32 * letters.line_px() };
                lettering.write(canvas, line, letters, at, INK);
            }
        };
        write(&self.title, TITLE, TITLE_TOP_PX);
        write(&self.field, WORDS, self.field_top_px());
        write(&self.caption, WORDS, caption_top_px);
    }

    fn field_top_px(&self) -> f32 {
        TITLE_TOP_PX + self.title.len() as f32 * TITLE.line_px() + 4.0
    }
}
