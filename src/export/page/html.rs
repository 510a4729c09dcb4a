//! A page as one HTML file: complete without script, nothing loaded from anywhere, units switched by two radio inputs.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};
use sha2::{Digest, Sha256};

use super::{Block, Line, Page, Table};
use crate::export::figure::{Figure, WIDTH, unturned};
use crate::export::in_units::InUnits;
use crate::units::UnitSystem;

const STYLE: &str = include_str!("style.css");

/// The file's bytes.
pub(in crate::export) fn html(page: &Page) -> Vec<u8> {
    let is_us = page.units == UnitSystem::Us;
    // Only this style, by its hash; no script, no picture, no address.
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
        STANDARD.encode(Sha256::digest(STYLE.as_bytes()))
    );
    let document = markup! {
        (DOCTYPE)
        html lang="en-US" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (page.title) }
                style { (PreEscaped(STYLE)) }
            }
            body class=(if is_us { "first-us" } else { "first-si" }) {
                main {
                    @for (index, block) in page.blocks.iter().enumerate() {
                        (block_markup(block, index))
                        @if matches!(block, Block::Head { .. }) { (units_choice(is_us)) }
                        @if matches!(block, Block::InShort(_)) { (jump_links(page)) }
                    }
                }
            }
        }
    };
    unturned(&document.into_string()).into_bytes()
}

fn units_choice(is_us: bool) -> Markup {
    markup! {
        fieldset.units {
            legend { "Units" }
            span {
                input type="radio" name="units" id="units-us" checked[is_us];
                label for="units-us" { "pounds and acres" }
            }
            " "
            span {
                input type="radio" name="units" id="units-si" checked[!is_us];
                label for="units-si" { "kilograms and hectares" }
            }
        }
    }
}

fn jump_links(page: &Page) -> Markup {
    let questions = page.blocks.iter().filter_map(|block| match block {
        Block::Question { id, words } => Some((id, words)),
        _ => None,
    });
    markup! {
        nav aria-label="Questions" {
            ul { @for (id, words) in questions { li { a href={ "#" (id) } { (words) } } } }
        }
    }
}

fn block_markup(block: &Block, index: usize) -> Markup {
    match block {
        Block::Head { field, line } => markup! { h1 { (field) } p.line { (told(line)) } },
        Block::InShort(lines) => markup! {
            section.short aria-label="In short" {
                p.name { "In short" }
                @for line in lines { p { (told(line)) } }
            }
        },
        Block::Question { id, words } => markup! { h2 id=(id) { (words) } },
        Block::Heading(words) => markup! { h3 { (told(words)) } },
        Block::Words(words) => markup! { p { (told(words)) } },
        Block::Sure(words) => markup! { p.sure { "How sure: " (told(words)) } },
        Block::Figure { caption, drawings } => markup! {
            figure {
                figcaption id={ "caption-" (index) } { (told(caption)) }
                @for drawing in drawings { (drawing_markup(drawing)) }
            }
        },
        Block::Lines(lines) => markup! { @for line in lines { (line_markup(line)) } },
        Block::Table(table) => table_markup(table),
        Block::Foot(words) => markup! { p.foot { (told(words)) } },
    }
}

fn line_markup(line: &Line) -> Markup {
    markup! { p.named id=[line.id.as_deref()] { b { (told(&line.name)) } " " (told(&line.words)) } }
}

fn table_markup(table: &Table) -> Markup {
    let last = table.rows.len().saturating_sub(1);
    let has_head = table.head.iter().any(|cell| !cell.within(UnitSystem::Us).is_empty());
    markup! {
        table {
            caption { (told(&table.caption)) }
            @if has_head {
                thead { tr { @for (column, cell) in table.head.iter().enumerate() {
                    @if column == 0 && cell.within(UnitSystem::Us).is_empty() { td {} } @else { th scope="col" { (told(cell)) } }
                } } }
            }
            tbody {
                @for (index, row) in table.rows.iter().enumerate() {
                    tr.sum[table.has_sum && index == last] {
                        @for (column, cell) in row.iter().enumerate() {
                            @if column == 0 { th scope="row" { (told(cell)) } } @else { td { (told(cell)) } }
                        }
                    }
                }
            }
        }
    }
}

fn drawing_markup(drawing: &Figure) -> Markup {
    let told_us = drawing.told.within(UnitSystem::Us);
    markup! {
        svg viewBox={ "0 0 " (WIDTH) " " (format!("{:.1}", drawing.height)) } role="group" aria-label=(told_us) {
            (PreEscaped(drawing.svg_in_both()))
        }
    }
}

/// Words in both systems; the style shows one.
fn told(words: &InUnits) -> Markup {
    let (us, si) = (words.within(UnitSystem::Us), words.within(UnitSystem::Si));
    match words.is_same() {
        true => markup! { (us) },
        false => markup! { span.us { (us) } span.si { (si) } },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(words: &str) -> String {
        let blocks = vec![
            Block::Head { field: words.to_owned(), line: InUnits::of(|units| format!("{units:?}")) },
            Block::InShort(vec![InUnits::same(words)]),
            Block::Question { id: "ground".into(), words: "1. Where?".into() },
        ];
        String::from_utf8(html(&Page { title: words.to_owned(), units: UnitSystem::Si, blocks })).unwrap()
    }

    #[test]
    fn names_stay_text() {
        let text = page("<script>alert(1)</script> \" ' &");
        assert!(!text.contains("<script") && text.contains("&lt;script&gt;"));
    }

    #[test]
    fn nothing_is_loaded_and_the_style_is_named_by_its_hash() {
        let text = page("North");
        assert!(text.contains("default-src 'none'") && !text.contains("src=\"") && !text.contains("http://"));
        assert!(text.contains("<a href=\"#ground\">1. Where?</a>"));
        assert!(text.contains("<span class=\"us\">Us</span><span class=\"si\">Si</span>"));
    }

    #[test]
    fn base64_is_that_of_rfc_4648() {
        // RFC 4648 section 10, test vectors.
        let vectors = [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")];
        assert!(vectors.iter().all(|(plain, encoded)| STANDARD.encode(plain) == *encoded));
    }
}
