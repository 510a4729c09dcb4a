//! The sheet: an opaque picture on which shapes are laid, and its PNG bytes.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use tiny_skia::{FillRule, LineJoin, Mask, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, Transform};

use super::palette::Rgb;

/// A place on the sheet, pixels from the top left corner; y runs down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::export) struct Spot {
    pub(in crate::export) x: f32,
    pub(in crate::export) y: f32,
}

/// An upright box on the sheet, pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::export) struct Frame {
    pub(in crate::export) left: f32,
    pub(in crate::export) top: f32,
    pub(in crate::export) width: f32,
    pub(in crate::export) height: f32,
}

impl Frame {
    pub(in crate::export) fn right(self) -> f32 {
        self.left + self.width
    }

    pub(in crate::export) fn bottom(self) -> f32 {
        self.top + self.height
    }

    pub(in crate::export) fn center(self) -> Spot {
        Spot { x: self.left + self.width / 2.0, y: self.top + self.height / 2.0 }
    }

    /// The frame of this size around a center.
    pub(in crate::export) fn around(center: Spot, width: f32, height: f32) -> Frame {
        Frame { left: center.x - width / 2.0, top: center.y - height / 2.0, width, height }
    }

    /// This frame with `by` pixels more on every side.
    pub(in crate::export) fn grown(self, by: f32) -> Frame {
        Frame { left: self.left - by, top: self.top - by, width: self.width + 2.0 * by, height: self.height + 2.0 * by }
    }

    pub(in crate::export) fn meets(self, other: Frame) -> bool {
        self.left < other.right() && other.left < self.right() && self.top < other.bottom() && other.top < self.bottom()
    }

    pub(in crate::export) fn holds(self, spot: Spot) -> bool {
        (self.left..=self.right()).contains(&spot.x) && (self.top..=self.bottom()).contains(&spot.y)
    }
}

/// An opaque picture; starts as blank paper.
pub(in crate::export) struct Canvas {
    pixmap: Pixmap,
}

impl Canvas {
    /// # Panics
    /// If a side is 0; sides come from the layout, which never gives that.
    pub(in crate::export) fn blank(width_px: u32, height_px: u32) -> Canvas {
        let mut pixmap = Pixmap::new(width_px, height_px).expect("the layout gives a picture with area");
        pixmap.data_mut().fill(255);
        Canvas { pixmap }
    }

    /// Sets one pixel; outside the sheet nothing happens.
    pub(in crate::export) fn put(&mut self, x: u32, y: u32, color: Rgb) {
        if let Some(offset) = self.offset(x, y) {
            self.pixmap.data_mut()[offset..offset + 3].copy_from_slice(&[color.0, color.1, color.2]);
        }
    }

    /// Lays `color` over one pixel with a share `cover`, 0 to 1.
    fn blend(&mut self, x: u32, y: u32, color: Rgb, cover: f32) {
        if let Some(offset) = self.offset(x, y) {
            let data = self.pixmap.data_mut();
            let below = Rgb(data[offset], data[offset + 1], data[offset + 2]);
            let mixed = below.under(color, cover);
            data[offset..offset + 3].copy_from_slice(&[mixed.0, mixed.1, mixed.2]);
        }
    }

    fn offset(&self, x: u32, y: u32) -> Option<usize> {
        let inside = x < self.pixmap.width() && y < self.pixmap.height();
        inside.then(|| (y as usize * self.pixmap.width() as usize + x as usize) * 4)
    }

    pub(in crate::export) fn fill_frame(&mut self, frame: Frame, color: Rgb) {
        if let Some(rect) = Rect::from_xywh(frame.left, frame.top, frame.width, frame.height) {
            self.pixmap.fill_rect(rect, &paint(color), Transform::identity(), None);
        }
    }

    /// Fills by the even-odd rule, as rings with holes want it, where `clip` lets through.
    pub(in crate::export) fn fill_rings_within(&mut self, path: &Path, color: Rgb, clip: &Mask) {
        self.pixmap.fill_path(path, &paint(color), FillRule::EvenOdd, Transform::identity(), Some(clip));
    }

    /// Fills by the winding rule, as letters want it.
    pub(in crate::export) fn fill_letters(&mut self, path: &Path, color: Rgb) {
        self.pixmap.fill_path(path, &paint(color), FillRule::Winding, Transform::identity(), None);
    }

    pub(in crate::export) fn stroke(&mut self, path: &Path, color: Rgb, width_px: f32) {
        self.pixmap.stroke_path(path, &paint(color), &pen(width_px), Transform::identity(), None);
    }

    /// A stroke where `clip` lets through.
    pub(in crate::export) fn stroke_within(&mut self, path: &Path, color: Rgb, width_px: f32, clip: &Mask) {
        self.pixmap.stroke_path(path, &paint(color), &pen(width_px), Transform::identity(), Some(clip));
    }

    pub(in crate::export) fn line(&mut self, from: Spot, to: Spot, color: Rgb, width_px: f32) {
        let mut path = PathBuilder::new();
        path.move_to(from.x, from.y);
        path.line_to(to.x, to.y);
        if let Some(path) = path.finish() {
            self.stroke(&path, color, width_px);
        }
    }

    /// Lays a small shape over the pixels at most `reach_px` from `center`. `depth` is the distance inside the shape's
    /// edge, negative outside, of an offset from the center: smooth edges without a path, and much faster for hundreds
    /// of marks.
    pub(in crate::export) fn stamp(
        &mut self,
        center: Spot,
        reach_px: f32,
        color: Rgb,
        depth: impl Fn(f32, f32) -> f32,
    ) {
        let first = |at: f32| (at - reach_px).floor().max(0.0) as u32;
        let last = |at: f32| (at + reach_px).ceil().max(0.0) as u32;
        for y in first(center.y)..last(center.y) {
            for x in first(center.x)..last(center.x) {
                let cover = depth(x as f32 + 0.5 - center.x, y as f32 + 0.5 - center.y) + 0.5;
                if cover > 0.0 {
                    self.blend(x, y, color, cover.min(1.0));
                }
            }
        }
    }

    pub(in crate::export) fn disc(&mut self, center: Spot, radius_px: f32, color: Rgb) {
        self.stamp(center, radius_px + 1.0, color, |x, y| radius_px - (x * x + y * y).sqrt());
    }

    /// Whether a box holds nothing but paper; what lies off the sheet counts as paper.
    pub(in crate::export) fn is_blank(&self, frame: Frame) -> bool {
        let within = |at: f32, end: u32| (at.max(0.0) as usize).min(end as usize);
        let width = self.pixmap.width();
        let (left, right) = (within(frame.left, width), within(frame.right() + 1.0, width));
        let rows = within(frame.top, self.pixmap.height())..within(frame.bottom() + 1.0, self.pixmap.height());
        let row_of = |y: usize| &self.pixmap.data()[4 * (y * width as usize + left)..4 * (y * width as usize + right)];
        rows.into_iter().all(|y| row_of(y).iter().all(|channel| *channel == 255))
    }

    /// PNG bytes, 8 bits a channel, no alpha; the same picture gives the same bytes.
    pub(in crate::export) fn png(&self) -> Vec<u8> {
        let mut rgb = Vec::with_capacity(self.pixmap.data().len() / 4 * 3);
        for pixel in self.pixmap.data().chunks_exact(4) {
            rgb.extend_from_slice(&pixel[..3]);
        }
        encoded(&rgb, self.pixmap.width(), self.pixmap.height(), ExtendedColorType::Rgb8)
    }

    /// The same for a picture of nothing but ink on paper, in 8-bit grey: half the bytes in half the time. Takes the part
    /// above a row, at least one row.
    pub(in crate::export) fn grey_png_above(&self, row: u32) -> Vec<u8> {
        let (width, height) = (self.pixmap.width(), row.clamp(1, self.pixmap.height()));
        let n_pixels = width as usize * height as usize;
        // Ink is as good as grey; its green is the middle of its three channels.
        let grey: Vec<u8> = self.pixmap.data().chunks_exact(4).take(n_pixels).map(|pixel| pixel[1]).collect();
        encoded(&grey, width, height, ExtendedColorType::L8)
    }
}

fn encoded(samples: &[u8], width: u32, height: u32, color: ExtendedColorType) -> Vec<u8> {
    let mut bytes = Vec::new();
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Level(1), FilterType::NoFilter)
        .write_image(samples, width, height, color)
        .expect("writing to memory does not fail");
    bytes
}

fn paint(color: Rgb) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(color.0, color.1, color.2, 255);
    paint
}

fn pen(width_px: f32) -> Stroke {
    Stroke { width: width_px, line_join: LineJoin::Round, ..Stroke::default() }
}

/// One path of closed rings; rings of fewer than 3 places are left out. `None` if nothing remains.
pub(in crate::export) fn rings_path(rings: impl Iterator<Item = Vec<Spot>>) -> Option<Path> {
    let mut path = PathBuilder::new();
    for ring in rings.filter(|ring| ring.len() >= 3) {
        path.move_to(ring[0].x, ring[0].y);
        for spot in &ring[1..] {
            path.line_to(spot.x, spot.y);
        }
        path.close();
    }
    path.finish()
}

#[cfg(test)]
impl Canvas {
    pub(in crate::export) fn color_at(&self, x: u32, y: u32) -> Rgb {
        let pixel = &self.pixmap.data()[self.offset(x, y).expect("inside the sheet")..];
        Rgb(pixel[0], pixel[1], pixel[2])
    }
}

#[cfg(test)]
mod tests {
    use super::super::palette::{INK, PAPER};
    use super::*;

    #[test]
    fn a_png_reads_back_as_the_same_pixels() {
        let mut canvas = Canvas::blank(9, 5);
        canvas.put(3, 2, Rgb(1, 2, 3));
        canvas.put(400, 2, Rgb(1, 2, 3));
        let back = image::load_from_memory(&canvas.png()).expect("a png").into_rgb8();
        assert_eq!((back.width(), back.height()), (9, 5));
        assert_eq!(back.get_pixel(3, 2).0, [1, 2, 3]);
        assert!(back.enumerate_pixels().all(|(x, y, pixel)| (x, y) == (3, 2) || pixel.0 == [255; 3]));
    }

    #[test]
    fn ink_on_paper_reads_back_in_grey_down_to_a_row() {
        let mut canvas = Canvas::blank(9, 5);
        canvas.put(3, 2, INK);
        let back = image::load_from_memory(&canvas.grey_png_above(4)).expect("a png").into_luma8();
        assert_eq!((back.width(), back.height()), (9, 4));
        assert_eq!(back.get_pixel(3, 2).0, [INK.1]);
        assert_eq!(back.pixels().filter(|pixel| pixel.0 == [255]).count(), 35);
    }

    #[test]
    fn a_stamp_over_the_corner_stays_on_the_sheet() {
        let mut canvas = Canvas::blank(8, 8);
        canvas.disc(Spot { x: 0.0, y: 0.0 }, 3.0, INK);
        canvas.disc(Spot { x: -50.0, y: 900.0 }, 3.0, INK);
        assert_eq!(canvas.color_at(0, 0), INK);
        assert_eq!(canvas.color_at(7, 7), PAPER);
    }
}
