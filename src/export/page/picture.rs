//! A sheet as a PNG picture.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree};

use super::layout::Sheet;
use super::lettering::{FAMILY, FONTS};

/// The sheet as a drawing with all words in the bundled fonts.
///
/// # Panics
/// If a sheet is no SVG: a fault of this program.
pub(super) fn tree(sheet: &Sheet) -> Tree {
    let options = Options { font_family: FAMILY.to_owned(), fontdb: FONTS.clone(), ..Options::default() };
    Tree::from_str(&sheet.document(), &options).expect("a sheet is an SVG")
}

/// PNG bytes, `width_px` wide, 8 bits a channel; the same sheet gives the same bytes.
pub(in crate::export) fn picture(sheet: &Sheet, width_px: u32) -> Vec<u8> {
    let scale = f64::from(width_px) / sheet.width;
    let height_px = (sheet.height * scale).ceil().max(1.0) as u32;
    let mut pixels = Pixmap::new(width_px, height_px).expect("a size above 0");
    pixels.fill(Color::WHITE);
    resvg::render(&tree(sheet), Transform::from_scale(scale as f32, scale as f32), &mut pixels.as_mut());
    let data: Vec<u8> = pixels.pixels().iter().flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()]).collect();
    let mut png = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut png, CompressionType::Best, FilterType::Sub);
    image::ImageEncoder::write_image(encoder, &data, width_px, height_px, image::ExtendedColorType::Rgb8)
        .expect("a picture of its own size");
    png
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::figure::PLAIN;

    #[test]
    fn a_picture_has_its_width_and_ink_where_the_words_are() {
        let sheet = Sheet { width: 100.0, height: 40.0, svg: PLAIN.svg(10.0, 25.0, "Zone 1") };
        let png = picture(&sheet, 300);
        let read = image::load_from_memory(&png).unwrap().to_rgb8();
        assert_eq!(read.dimensions(), (300, 120));
        let is_dark = |x: u32, y: u32| read.get_pixel(x, y).0[0] < 90;
        assert!((30..160).any(|x| (50..80).any(|y| is_dark(x, y))));
        assert!((0..300).all(|x| (90..120).all(|y| !is_dark(x, y))));
    }
}
