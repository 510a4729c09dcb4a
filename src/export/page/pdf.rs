//! Sheets as one PDF; text stays text.

use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};

use super::layout::Sheet;
use super::picture::tree;

/// The document: the same sheets give the same bytes.
///
/// # Panics
/// Never by what a user wrote: words are escaped before.
pub(in crate::export) fn pdf(title: &str, sheets: &[Sheet]) -> Vec<u8> {
    let mut document = Document::new_with(SerializeSettings::default());
    document.set_metadata(Metadata::new().title(title.to_owned()).language("en-US".to_owned()));
    for sheet in sheets {
        let (width, height) = (sheet.width as f32, sheet.height as f32);
        let mut page = document.start_page_with(PageSettings::from_wh(width, height).expect("a size above 0"));
        let mut surface = page.surface();
        surface.draw_svg(&tree(sheet), Size::from_wh(width, height).expect("a size above 0"), SvgSettings::default());
        surface.finish();
        page.finish();
    }
    document.finish().expect("a document without validation has nothing to fail")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::figure::PLAIN;

    #[test]
    fn same_sheets_same_bytes_whatever_the_words() {
        let words = "<b> \u{202e}\u{5e9}\u{5d3}\u{5d4} \u{1f33e} \u{7530} \u{627}\u{644} \" ' & ]]>";
        let sheet = Sheet { width: 612.0, height: 792.0, svg: PLAIN.svg(50.0, 60.0, words) };
        let sheets = [sheet.clone(), sheet];
        let one = pdf(words, &sheets);
        assert!(one.starts_with(b"%PDF-1.") && one == pdf(words, &sheets));
    }
}
