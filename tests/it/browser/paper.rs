//! The page on paper: nothing lost, a sane number of pages; the picture's width.

use std::path::Path;

use super::{demo, lines};
use crate::outside;

/// The text of a PDF as its lines show it, without space, and without the line at each page's foot.
pub(super) fn pdf_letters(file: &Path) -> Option<String> {
    let text = outside::printed("pdftotext", &["-layout".as_ref(), file.as_os_str(), "-".as_ref()])?;
    let lines = text.lines().filter(|line| !line.trim_start_matches('\u{c}').trim().starts_with("Page "));
    Some(letters(&lines.collect::<String>()))
}

/// Without space and marks of direction, which readers of PDF add.
pub(super) fn letters(text: &str) -> String {
    let is_mark =
        |letter: char| matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().filter(|letter| !letter.is_whitespace() && !is_mark(*letter)).collect()
}

fn pdf_fact(file: &Path, key: &str) -> Option<String> {
    let text = outside::printed("pdfinfo", &[file.as_os_str()])?;
    let line = text.lines().find_map(|line| line.strip_prefix(key)).unwrap_or_else(|| panic!("no {key}: {text}"));
    Some(line.trim().to_owned())
}

#[test]
fn the_page_prints_whole_on_both_papers() {
    let Some(seen) = demo() else { return };
    // The choice of units, and the jump links, are for the screen.
    let words = lines(&seen.told["with_script"], "first");
    let words: Vec<&&str> =
        words.iter().filter(|line| !["Units", "pounds and acres", "kilograms and hectares"].contains(line)).collect();
    assert!(words.len() > 150);
    let prints = [("prints/A4.pdf", "A4"), ("prints/Letter.pdf", "letter"), ("out/grower.pdf", "letter")];
    for (file, paper) in prints {
        let file = seen.prints.parent().unwrap().join(file);
        let Some(pages) = pdf_fact(&file, "Pages:") else { return };
        let n_pages: usize = pages.parse().unwrap();
        assert!((8..=16).contains(&n_pages), "{n_pages} pages");
        assert!(pdf_fact(&file, "Page size:").unwrap().contains(paper));
        let printed = pdf_letters(&file).unwrap();
        let lost: Vec<_> = words.iter().filter(|line| !printed.contains(&letters(line))).collect();
        assert!(lost.is_empty(), "{file:?} lost {lost:?}");
    }
}

#[test]
fn the_picture_is_1080_wide() {
    let Some(seen) = demo() else { return };
    let (width, height) = image::image_dimensions(seen.out.join("grower.png")).unwrap();
    assert_eq!(width, 1080);
    assert!((1500..6000).contains(&height), "{height}");
}
