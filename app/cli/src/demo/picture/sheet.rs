//! A piece of sheet metal: how high it stands, what colour it is, how it shines; and the light on it.

use super::noise::{mix, rough, smooth, step};

/// Width of the sheet in its own points; the picture has twice as many.
pub(super) const WIDE: usize = 800;
/// Height of the sheet in its own points.
pub(super) const HIGH: usize = 600;

/// One point of the sheet.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Point {
    /// Height in mm.
    pub(super) high: f32,
    /// Share of light that comes back, red, green and blue.
    pub(super) rgb: [f32; 3],
    /// 0 dull to 1 bright.
    pub(super) shine: f32,
}

impl Point {
    /// Lays another colour over this one.
    pub(super) fn tint(&mut self, rgb: [f32; 3], cover: f32) {
        for (mine, other) in self.rgb.iter_mut().zip(rgb) {
            *mine = mix(*mine, other, cover);
        }
    }
}

/// What the sheet is before anything happens to it.
#[derive(Debug, Clone, Copy)]
pub(super) enum Ground {
    /// Bare steel, worked with a disc.
    Bare,
    /// Bare steel, blasted.
    Blasted,
    /// Old paint over primer.
    Paint([f32; 3]),
    /// Epoxy primer, dull.
    Primer,
    /// The maker's old primer, dull and dirty.
    OldPrimer,
    /// Underseal with road dirt.
    Underseal,
    /// The inside of a box: scale all over.
    Scale,
}

/// A sheet, `mm` to the point.
pub(super) struct Sheet {
    pub(super) mm: f32,
    pub(super) points: Vec<Point>,
    pub(super) seed: u32,
}

impl Sheet {
    /// A sheet of one ground.
    pub(super) fn new(ground: Ground, mm: f32, seed: u32) -> Self {
        let mut sheet = Self { mm, points: vec![Point::default(); WIDE * HIGH], seed };
        sheet.each(|x, y, point, seed| ground.lay(x, y, point, seed));
        sheet
    }

    /// Its size in mm.
    pub(super) fn size(&self) -> (f32, f32) {
        (WIDE as f32 * self.mm, HIGH as f32 * self.mm)
    }

    /// Works every point over; `x` and `y` in mm from the upper left corner.
    pub(super) fn each(&mut self, work: impl Fn(f32, f32, &mut Point, u32)) {
        let (wide, high) = self.size();
        self.within([0.0, 0.0, wide, high], work);
    }

    /// Works the points of a box over: left, top, right and bottom in mm.
    pub(super) fn within(&mut self, [left, top, right, bottom]: [f32; 4], work: impl Fn(f32, f32, &mut Point, u32)) {
        let (mm, seed) = (self.mm, self.seed);
        // A float that is negative or too large becomes the nearest index there is.
        let (first, last) = ((left / mm) as usize, (right / mm) as usize);
        let (upper, lower) = ((top / mm) as usize, (bottom / mm) as usize);
        for (row, points) in self.points.chunks_mut(WIDE).enumerate().skip(upper).take(lower.saturating_sub(upper) + 1)
        {
            for (column, point) in points.iter_mut().enumerate().skip(first).take(last.saturating_sub(first) + 1) {
                work(column as f32 * mm, row as f32 * mm, point, seed);
            }
        }
    }

    /// The sheet in the light of a hand lamp from the upper left, as red, green and blue in 0..1.
    pub(super) fn lit(&self) -> Vec<[f32; 3]> {
        let high = |x: usize, y: usize| self.points.get(y * WIDE + x).map_or(0.0, |p| p.high);
        let run = 2.0 * self.mm;
        let mut lit = Vec::with_capacity(self.points.len());
        for (index, point) in self.points.iter().enumerate() {
            let (x, y) = (index % WIDE, index / WIDE);
            let (left, right) = (x.saturating_sub(1), (x + 1).min(WIDE - 1));
            let (up, down) = (y.saturating_sub(1), (y + 1).min(HIGH - 1));
            let slope_x = (high(left, y) - high(right, y)) / run;
            let slope_y = (high(x, up) - high(x, down)) / run;
            let length = (slope_x * slope_x + slope_y * slope_y + 1.0).sqrt();
            // The lamp stands at (-0.48, -0.58, 0.66), the camera above; the sheet glances half-way between.
            let lamp = ((-0.48 * slope_x - 0.58 * slope_y + 0.66) / length).max(0.0);
            let glance = ((-0.48 * slope_x - 0.58 * slope_y + 1.66) / (1.823 * length)).max(0.0);
            let g4 = glance * glance * glance * glance;
            let bright = point.shine * g4 * g4 * g4 * g4;
            // The lamp falls off across the picture, and a lens darkens its corners.
            let (u, v) = (x as f32 / WIDE as f32, y as f32 / HIGH as f32);
            let near = 1.36 - 0.34 * u - 0.26 * v;
            let corner = 1.0 - 0.55 * ((u - 0.5) * (u - 0.5) + (v - 0.5) * (v - 0.5));
            let light = (0.45 + 1.10 * lamp) * near * corner;
            lit.push(point.rgb.map(|c| (c * light + 0.34 * bright * near * corner).clamp(0.0, 1.0)));
        }
        lit
    }
}

/// Rust from dark and hard (0) to loose and orange (1).
pub(super) fn rust(loose: f32) -> [f32; 3] {
    const DARK: [f32; 3] = [0.052, 0.026, 0.018];
    const BROWN: [f32; 3] = [0.155, 0.062, 0.030];
    const ORANGE: [f32; 3] = [0.335, 0.140, 0.050];
    let (from, to, t) = if loose < 0.5 { (DARK, BROWN, loose * 2.0) } else { (BROWN, ORANGE, loose * 2.0 - 1.0) };
    let mut rgb = from;
    for (mine, other) in rgb.iter_mut().zip(to) {
        *mine = mix(*mine, other, t.clamp(0.0, 1.0));
    }
    rgb
}

impl Ground {
    fn lay(self, x: f32, y: f32, point: &mut Point, seed: u32) {
        let broad = rough(x / 55.0, y / 55.0, seed, 2);
        let fine = smooth(x * 2.2, y * 2.2, seed + 7);
        match self {
            Self::Bare => {
                // Scratches of a disc, in two directions across each other.
                let one = smooth(x * 0.10 + y * 0.06, (y - x * 0.55) * 3.4, seed + 1);
                let two = smooth(x * 0.05 - y * 0.08, (y + x * 0.38) * 4.1, seed + 2);
                let scratch = 0.5 * one + 0.5 * two;
                let v = 0.25 + 0.13 * (scratch - 0.5) + 0.09 * (broad - 0.5);
                *point = Point { high: 0.03 * scratch, rgb: [v, v * 1.01, v * 1.03], shine: 0.55 };
            }
            Self::Blasted => {
                let v = 0.30 + 0.05 * (fine - 0.5) + 0.05 * (broad - 0.5);
                *point = Point { high: 0.09 * fine, rgb: [v, v, v * 0.985], shine: 0.10 };
            }
            Self::Paint(rgb) => {
                let peel = rough(x / 2.6, y / 2.6, seed + 3, 2);
                let worn = 0.92 + 0.16 * (broad - 0.5);
                *point = Point { high: 0.05 * peel, rgb: rgb.map(|c| c * worn), shine: 0.42 };
            }
            Self::Primer => {
                let v = 0.235 + 0.03 * (broad - 0.5) + 0.012 * (fine - 0.5);
                *point = Point { high: 0.03 * fine, rgb: [v * 0.96, v * 0.99, v * 1.02], shine: 0.07 };
            }
            Self::OldPrimer => {
                let dirt = step(0.45, 0.8, rough(x / 18.0, y / 18.0, seed + 5, 4));
                *point = Point { high: 0.04 * fine, rgb: [0.20, 0.085, 0.062], shine: 0.06 };
                point.tint([0.075, 0.060, 0.048], 0.75 * dirt);
            }
            Self::Underseal => {
                let lumps = rough(x / 4.2, y / 4.2, seed + 6, 3);
                let dust = step(0.5, 0.85, broad);
                *point = Point { high: 1.3 * lumps, rgb: [0.036, 0.034, 0.032], shine: 0.22 };
                point.tint([0.16, 0.13, 0.10], 0.55 * dust);
            }
            Self::Scale => {
                let plates = rough(x / 9.0, y / 7.0, seed + 8, 4);
                *point = Point { high: 1.6 * plates, rgb: rust(plates * 1.25 - 0.12), shine: 0.03 };
            }
        }
    }
}
