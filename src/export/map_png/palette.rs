//! Colors of the maps: ink, paper, and the stepped palettes, made in OKLCH with lightness falling evenly so that a grey
//! print keeps the order. The tests hold them to the published contrast (WCAG 2) and color difference (CIEDE2000).

/// A color of sRGB, 8 bits a channel: red, green, blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// Text, lines and marks.
pub const INK: Rgb = Rgb::hex(0x14110f);
/// The sheet itself, and marks on dark fills.
pub const PAPER: Rgb = Rgb::hex(0xffffff);

impl Rgb {
    /// The color of `0xrrggbb`.
    pub const fn hex(code: u32) -> Rgb {
        Rgb((code >> 16) as u8, (code >> 8) as u8, code as u8)
    }

    /// As style sheets and drawings write it: `#rrggbb`.
    pub(crate) fn css(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }

    /// Relative luminance of WCAG 2, 0 for black to 1 for white.
    pub fn luminance(self) -> f64 {
        0.2126 * linear(self.0) + 0.7152 * linear(self.1) + 0.0722 * linear(self.2)
    }

    /// Contrast ratio of WCAG 2 between two colors, 1 to 21.
    pub fn contrast(self, other: Rgb) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// Ink or paper, whichever reads better on this color. Marks use it too: ink would vanish on dark fills.
    pub fn text(self) -> Rgb {
        if self.contrast(INK) >= self.contrast(PAPER) { INK } else { PAPER }
    }

    /// This color with a share `cover` (0 to 1) of `other` laid over it.
    pub(in crate::export) fn under(self, other: Rgb, cover: f32) -> Rgb {
        let mix = |below: u8, above: u8| (f32::from(below) + (f32::from(above) - f32::from(below)) * cover + 0.5) as u8;
        Rgb(mix(self.0, other.0), mix(self.1, other.1), mix(self.2, other.2))
    }
}

/// Light of one 8-bit sRGB channel, 0 to 1.
fn linear(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}

/// Which row of colors a map uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Palette {
    /// Sand to plum: what the ground holds. The first, pale step holds least.
    Ground,
    /// Mist to deep blue: rates.
    Rate,
    /// Grey: how little is known.
    Doubt,
    /// Six unlike things without an order, such as cations or products.
    Cloth,
    /// Brown to paper to blue: less, the same, more. Grey cannot tell the ends apart: always with - and + printed.
    Change,
}

impl Palette {
    /// The most classes this palette can tell apart.
    pub fn most_classes(self) -> usize {
        match self {
            Palette::Ground | Palette::Rate | Palette::Cloth => 6,
            Palette::Doubt => 3,
            Palette::Change => 5,
        }
    }

    /// The colors of `n_classes` classes, first class first.
    ///
    /// # Panics
    /// If `n_classes` is 0 or more than [`Palette::most_classes`].
    pub fn steps(self, n_classes: usize) -> &'static [Rgb] {
        assert!((1..=self.most_classes()).contains(&n_classes), "{self:?} has no {n_classes} steps");
        let rows = match self {
            Palette::Ground => GROUND,
            Palette::Rate => RATE,
            Palette::Doubt => DOUBT,
            Palette::Cloth => return &CLOTH[..n_classes],
            Palette::Change => return &CHANGE[..n_classes],
        };
        rows[n_classes - 1]
    }
}

const GROUND: &[&[Rgb]] = &[
    &[Rgb::hex(0xf7f1d3)],
    &[Rgb::hex(0xf7f1d3), Rgb::hex(0x944666)],
    &[Rgb::hex(0xf7f1d3), Rgb::hex(0xcf9b72), Rgb::hex(0x7d3762)],
    &[Rgb::hex(0xf7f1d3), Rgb::hex(0xcf9b72), Rgb::hex(0x944666), Rgb::hex(0x3b153e)],
    &[Rgb::hex(0xf7f1d3), Rgb::hex(0xd8b284), Rgb::hex(0xb76d67), Rgb::hex(0x7d3762), Rgb::hex(0x3b153e)],
    &[
        Rgb::hex(0xf7f1d3),
        Rgb::hex(0xddbf91),
        Rgb::hex(0xc68969),
        Rgb::hex(0xa45368),
        Rgb::hex(0x702f5d),
        Rgb::hex(0x3b153e),
    ],
];

const RATE: &[&[Rgb]] = &[
    &[Rgb::hex(0xe5f8e8)],
    &[Rgb::hex(0xe5f8e8), Rgb::hex(0x236a98)],
    &[Rgb::hex(0xe5f8e8), Rgb::hex(0x62b8c3), Rgb::hex(0x1e5887)],
    &[Rgb::hex(0xe5f8e8), Rgb::hex(0x62b8c3), Rgb::hex(0x236a98), Rgb::hex(0x0d2849)],
    &[Rgb::hex(0xe5f8e8), Rgb::hex(0x7dcac9), Rgb::hex(0x3991b2), Rgb::hex(0x1e5887), Rgb::hex(0x0d2849)],
    &[
        Rgb::hex(0xe5f8e8),
        Rgb::hex(0x8fd4cd),
        Rgb::hex(0x4fa8bd),
        Rgb::hex(0x2a7aa4),
        Rgb::hex(0x1b4d7c),
        Rgb::hex(0x0d2849),
    ],
];

const DOUBT: &[&[Rgb]] = &[
    &[Rgb::hex(0xf5f5f5)],
    &[Rgb::hex(0xf5f5f5), Rgb::hex(0x8a8a8a)],
    &[Rgb::hex(0xf5f5f5), Rgb::hex(0xc2c2c2), Rgb::hex(0x8a8a8a)],
];

const CLOTH: &[Rgb] = &[
    Rgb::hex(0xf4f0bd),
    Rgb::hex(0x63c5cf),
    Rgb::hex(0xb5855d),
    Rgb::hex(0x6f65a0),
    Rgb::hex(0x6f3930),
    Rgb::hex(0x220f59),
];

const CHANGE: &[Rgb] =
    &[Rgb::hex(0x6b3d17), Rgb::hex(0xd8a96e), Rgb::hex(0xffffff), Rgb::hex(0x86bfe6), Rgb::hex(0x1f4f94)];

#[cfg(test)]
mod tests {
    use super::*;

    const MOST_STEPPED: usize = 6;

    /// CIELAB of linear sRGB, white D65.
    fn lab(light: [f64; 3]) -> [f64; 3] {
        let [r, g, b] = light;
        let f = |t: f64| if t > 216.0 / 24389.0 { t.cbrt() } else { (24389.0 / 27.0 * t + 16.0) / 116.0 };
        let x = f((0.412_456_4 * r + 0.357_576_1 * g + 0.180_437_5 * b) / 0.95047);
        let y = f(0.212_672_9 * r + 0.715_152_2 * g + 0.072_175 * b);
        let z = f((0.019_333_9 * r + 0.119_192 * g + 0.950_304_1 * b) / 1.08883);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    /// CIEDE2000, after Sharma, Wu and Dalal 2005.
    fn de2000(one: [f64; 3], two: [f64; 3]) -> f64 {
        let ([l1, a1, b1], [l2, a2, b2]) = (one, two);
        let toward_7 = |c: f64| (c.powi(7) / (c.powi(7) + 25f64.powi(7))).sqrt();
        let stretch = 1.0 + 0.5 * (1.0 - toward_7((a1.hypot(b1) + a2.hypot(b2)) / 2.0));
        let (a1, a2) = (a1 * stretch, a2 * stretch);
        let (c1, c2) = (a1.hypot(b1), a2.hypot(b2));
        let hue = |a: f64, b: f64| b.atan2(a).to_degrees().rem_euclid(360.0);
        let (h1, h2) = (hue(a1, b1), hue(a2, b2));
        let turn = if c1 * c2 == 0.0 { 0.0 } else { (h2 - h1 + 180.0).rem_euclid(360.0) - 180.0 };
        let dh = 2.0 * (c1 * c2).sqrt() * (turn / 2.0).to_radians().sin();
        let (l, c) = ((l1 + l2) / 2.0, (c1 + c2) / 2.0);
        let h = if c1 * c2 == 0.0 { h1 + h2 } else { (h1 + turn / 2.0).rem_euclid(360.0) };
        let wave = |factor: f64, shift: f64| (factor * h + shift).to_radians().cos();
        let t = 1.0 - 0.17 * wave(1.0, -30.0) + 0.24 * wave(2.0, 0.0) + 0.32 * wave(3.0, 6.0) - 0.2 * wave(4.0, -63.0);
        let sl = 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt();
        let (sc, sh) = (1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
        let twist = -(60.0 * (-((h - 275.0) / 25.0).powi(2)).exp()).to_radians().sin() * 2.0 * toward_7(c);
        let (dl, dc, dh) = ((l2 - l1) / sl, (c2 - c1) / sc, dh / sh);
        (dl * dl + dc * dc + dh * dh + twist * dc * dh).sqrt()
    }

    #[derive(Clone, Copy)]
    enum Eye {
        Normal,
        Protan,
        Deutan,
        Tritan,
        Grey,
    }

    /// What an eye sees, as linear light. Source: Machado, Oliveira and Fernandes 2009 (IEEE Transactions on
    /// Visualization and Computer Graphics 15:1291-1298), matrices at full severity, for linear sRGB.
    fn seen(color: Rgb, eye: Eye) -> [f64; 3] {
        let light = [linear(color.0), linear(color.1), linear(color.2)];
        let matrix = match eye {
            Eye::Normal => return light,
            Eye::Grey => return [color.luminance(); 3],
            Eye::Protan => {
                [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
            }
            Eye::Deutan => {
                [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
            }
            Eye::Tritan => {
                [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
            }
        };
        matrix.map(|row: [f64; 3]| (row[0] * light[0] + row[1] * light[1] + row[2] * light[2]).clamp(0.0, 1.0))
    }

    fn apart(one: Rgb, two: Rgb, eye: Eye) -> f64 {
        de2000(lab(seen(one, eye)), lab(seen(two, eye)))
    }

    fn least_between_neighbors(steps: &[Rgb], eye: Eye) -> f64 {
        steps.windows(2).map(|pair| apart(pair[0], pair[1], eye)).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn color_difference_reproduces_the_published_pair() {
        // First pair of the supplementary test data of Sharma, Wu and Dalal 2005.
        let found = de2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]);
        assert!((found - 2.0425).abs() < 5e-5, "{found}");
    }

    #[test]
    fn neighbors_are_as_far_apart_as_published() {
        // Rows: 2 to 6 steps; columns: normal, protan, deutan, tritan, grey. The tritan column: colorspacious 1.1.2 for
        // what the eye sees, CIEDE2000 in Python; it repeats the three columns before it.
        let ground = [
            [54.6, 51.3, 42.4, 46.9, 43.1],
            [24.4, 20.9, 18.9, 24.4, 18.4],
            [22.2, 18.7, 18.9, 22.5, 18.4],
            [15.6, 12.7, 14.4, 16.6, 13.2],
            [12.3, 9.9, 11.8, 13.4, 10.4],
        ];
        let rate = [
            [48.4, 46.4, 50.0, 41.75, 41.5],
            [23.7, 21.5, 25.3, 24.1, 17.3],
            [22.8, 21.5, 20.1, 22.7, 17.3],
            [16.5, 14.6, 14.7, 15.2, 12.5],
            [12.7, 10.6, 11.6, 12.0, 9.9],
        ];
        for (palette, table) in [(Palette::Ground, ground), (Palette::Rate, rate)] {
            for (row, n_classes) in table.iter().zip(2..=MOST_STEPPED) {
                for (published, eye) in row.iter().zip([Eye::Normal, Eye::Protan, Eye::Deutan, Eye::Tritan, Eye::Grey])
                {
                    let found = least_between_neighbors(palette.steps(n_classes), eye);
                    assert!((found - published).abs() < 0.051, "{palette:?} {n_classes}: {found} against {published}");
                }
            }
        }
    }

    #[test]
    fn any_two_of_cloth_are_as_far_apart_as_published() {
        let published =
            [(26.6, Eye::Normal), (25.1, Eye::Protan), (23.9, Eye::Deutan), (26.2, Eye::Tritan), (12.0, Eye::Grey)];
        for (published, eye) in published {
            let pairs = (0..CLOTH.len()).flat_map(|i| (0..i).map(move |j| (CLOTH[j], CLOTH[i])));
            let found = pairs.map(|(one, two)| apart(one, two, eye)).fold(f64::INFINITY, f64::min);
            assert!((found - published).abs() < 0.051, "{found} against {published}");
        }
    }

    #[test]
    fn steps_of_change_are_as_far_apart_as_published_and_grey_loses_its_ends() {
        for (published, eye) in [(23.6, Eye::Normal), (21.1, Eye::Protan), (24.3, Eye::Deutan)] {
            let found = least_between_neighbors(CHANGE, eye);
            assert!((found - published).abs() < 0.051, "{found} against {published}");
        }
        let least = (0..5).flat_map(|i| (0..i).map(move |j| apart(CHANGE[j], CHANGE[i], Eye::Grey)));
        assert!((least.fold(f64::INFINITY, f64::min) - 1.9).abs() < 0.051);
    }

    #[test]
    fn words_on_every_step_have_the_published_contrast() {
        for palette in [Palette::Ground, Palette::Rate, Palette::Doubt, Palette::Cloth, Palette::Change] {
            for n_classes in 1..=palette.most_classes() {
                for step in palette.steps(n_classes) {
                    let contrast = step.contrast(step.text());
                    assert!(contrast >= 4.5, "{palette:?} {n_classes} {step:?}: {contrast}");
                }
            }
        }
        let published = [
            (0xf7f1d3, 16.5, INK),
            (0xcf9b72, 7.7, INK),
            (0xb76d67, 4.8, INK),
            (0xa45368, 5.2, PAPER),
            (0x944666, 6.3, PAPER),
            (0x3b153e, 15.4, PAPER),
            (0x3991b2, 5.3, INK),
            (0x2a7aa4, 4.8, PAPER),
            (0x0d2849, 14.8, PAPER),
            (0xb5855d, 5.8, INK),
        ];
        for (code, ratio, text) in published {
            let step = Rgb::hex(code);
            assert_eq!(step.text(), text);
            assert!((step.contrast(text) - ratio).abs() < 0.051, "{code:x}: {}", step.contrast(text));
        }
    }

    #[test]
    fn a_grey_print_keeps_the_order() {
        for palette in [Palette::Ground, Palette::Rate, Palette::Doubt, Palette::Cloth] {
            for n_classes in 2..=palette.most_classes() {
                let steps = palette.steps(n_classes);
                assert!(steps.windows(2).all(|pair| pair[0].luminance() > pair[1].luminance()));
            }
        }
    }
}
