//! What happens to a sheet: rust, holes, seams, welds, filler, the bench's own chalk.

use super::noise::{at, mix, rough, smooth, step};
use super::sheet::{Point, Sheet, rust};

/// A round place in mm: its middle and how far it reaches each way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub(super) x: f32,
    pub(super) y: f32,
    pub(super) rx: f32,
    pub(super) ry: f32,
}

/// A place from its middle and reach.
pub(super) const fn place(x: f32, y: f32, rx: f32, ry: f32) -> Place {
    Place { x, y, rx, ry }
}

impl Place {
    /// The box within which anything of it can lie, with its frayed rim.
    fn reach(&self) -> [f32; 4] {
        let (rx, ry) = (1.8 * self.rx, 1.8 * self.ry);
        [self.x - rx, self.y - ry, self.x + rx, self.y + ry]
    }

    /// 0 in the middle, 1 on the edge, with an edge that rust has eaten.
    fn out(&self, x: f32, y: f32, seed: u32) -> f32 {
        let (u, v) = ((x - self.x) / self.rx, (y - self.y) / self.ry);
        let bite = rough(x / (0.35 * self.rx), y / (0.35 * self.ry), seed, 4) - 0.5;
        (u * u + v * v).sqrt() + 0.75 * bite
    }
}

impl Sheet {
    /// Rust over a place: stain at the rim, scale and pits inside.
    pub(super) fn rusted(&mut self, spot: Place) -> &mut Self {
        self.within(spot.reach(), |x, y, point, seed| {
            let out = spot.out(x, y, seed + 11);
            let stain = step(1.35, 0.75, out);
            let scale = step(0.95, 0.55, out);
            if stain <= 0.0 {
                return;
            }
            let grain = rough(x / 5.0, y / 5.0, seed + 12, 4);
            point.tint([0.22, 0.125, 0.07], 0.55 * stain * step(0.25, 0.6, grain));
            point.tint(rust(grain * 1.3 - 0.1), scale);
            point.high += scale * (0.9 * grain - 0.25);
            point.shine *= 1.0 - 0.95 * scale.max(0.6 * stain);
        });
        self
    }

    /// Pits over a place, deeper toward the middle; 0..1 of them.
    pub(super) fn pitted(&mut self, spot: Place, many: f32) -> &mut Self {
        self.within(spot.reach(), |x, y, point, seed| {
            let near = step(1.15, 0.35, spot.out(x, y, seed + 13));
            if near <= 0.0 {
                return;
            }
            // Turned and bent, so that the lattice of the noise does not show as squares.
            let (u, v) = (0.8 * x + 0.6 * y, 0.8 * y - 0.6 * x);
            let bend = 1.6 * smooth(x / 1.7, y / 1.7, seed + 36);
            let pit = step(
                1.0 - 0.40 * many * near,
                1.0 - 0.24 * many * near,
                smooth(u / 2.3 + bend, v / 2.3 - bend, seed + 14),
            );
            let fine =
                step(1.0 - 0.34 * many * near, 1.0 - 0.20 * many * near, smooth(v / 1.1, u / 1.1 + bend, seed + 15));
            let deep = (pit + 0.6 * fine).min(1.0) * step(0.0, 0.25, near);
            point.high -= 0.5 * deep;
            point.tint(rust(0.05 + 0.30 * smooth(x / 3.0, y / 3.0, seed + 16)), 0.8 * deep);
            point.tint([0.20, 0.13, 0.085], 0.22 * near);
            point.shine *= 1.0 - 0.9 * deep.max(0.3 * near);
        });
        self
    }

    /// A hole with thin, curled edges.
    pub(super) fn holed(&mut self, spot: Place) -> &mut Self {
        self.rusted(Place { rx: spot.rx * 1.55, ry: spot.ry * 1.6, ..spot });
        self.within(spot.reach(), |x, y, point, seed| {
            let out = spot.out(x, y, seed + 17);
            let lip = step(1.28, 1.04, out) * step(0.92, 1.02, out);
            point.high += 0.7 * lip;
            let through = step(1.02, 0.96, out);
            if through > 0.0 {
                let behind = 0.010 + 0.020 * rough(x / 12.0, y / 12.0, seed + 18, 3);
                // Light falls in from the upper left, so the lower right of what is behind is seen a little.
                let sees = step(-0.4, 1.0, (x - spot.x) / spot.rx + (y - spot.y) / spot.ry) * 0.035;
                point.tint([behind + sees, 0.6 * behind + 0.5 * sees, 0.45 * behind + 0.3 * sees], through);
                point.high = mix(point.high, -3.0, step(1.0, 0.9, out));
                point.shine *= 1.0 - through;
            }
        });
        self
    }

    /// Blisters under paint along a line: some round, one broken open.
    pub(super) fn blistered(&mut self, y0: f32, from: f32, to: f32) -> &mut Self {
        let count = ((to - from) / 13.0) as i32;
        for index in 0..count {
            let r = 2.4 + 4.6 * at(index, 1, self.seed);
            let x0 = from + 13.0 * (index as f32 + 0.8 * at(index, 2, self.seed));
            let y0 = y0 + 9.0 * (at(index, 3, self.seed) - 0.5);
            let broken = index % 4 == 1;
            self.within([x0 - 8.0, y0 - 8.0, x0 + 8.0, y0 + 8.0], |x, y, point, seed| {
                let d = ((x - x0) * (x - x0) + (y - y0) * (y - y0)).sqrt() / r
                    + 0.22 * (smooth(x / 2.5, y / 2.5, seed + 19) - 0.5);
                if d >= 1.0 {
                    return;
                }
                point.high += 0.30 * r * (1.0 - d * d);
                if broken {
                    let open = step(0.75, 0.45, d);
                    point.tint(rust(0.3 + 0.7 * smooth(x * 0.9, y * 0.9, seed + 20)), open);
                    point.shine *= 1.0 - open;
                }
            });
        }
        self
    }

    /// A lap: below the line lies another sheet, with spot welds along it.
    pub(super) fn lapped(&mut self, y0: f32, pitch: f32) -> &mut Self {
        self.each(|x, y, point, seed| {
            let edge = y - y0 - 0.8 * (smooth(x / 30.0, 0.5, seed + 21) - 0.5);
            point.high -= 1.0 * step(-0.2, 0.5, edge);
            let gap = step(0.7, 0.1, (edge - 0.35).abs());
            point.tint([0.02, 0.015, 0.012], 0.8 * gap);
            if pitch > 0.0 {
                let nearest = (x / pitch).round() * pitch;
                let (dx, dy) = (x - nearest, edge + 7.0);
                let d = (dx * dx + dy * dy).sqrt() / 2.6;
                point.high -= 0.32 * step(1.1, 0.6, d);
            }
        });
        self
    }

    /// A run of overlapping weld spots along a line, with the blue strip beside it.
    pub(super) fn welded(&mut self, y0: f32, from: f32, to: f32, ground: bool) -> &mut Self {
        self.within([from - 20.0, y0 - 20.0, to + 20.0, y0 + 20.0], |x, y, point, seed| {
            let wander = 1.4 * (smooth(x / 22.0, 1.5, seed + 22) - 0.5);
            let d = (y - y0 - wander).abs();
            // The heat ran out round the ends, and not everywhere as far.
            let past = (from - x).max(x - to).max(0.0);
            let heat = (d * d + past * past).sqrt() * (0.8 + 0.4 * smooth(x / 14.0, y / 14.0, seed + 37));
            point.tint([0.10, 0.085, 0.075], 0.55 * step(16.0, 8.0, heat));
            point.tint([0.075, 0.095, 0.17], 0.50 * step(10.5, 6.0, heat) * step(3.0, 6.0, heat));
            point.tint([0.24, 0.165, 0.075], 0.40 * step(13.5, 10.5, heat) * step(7.5, 10.5, heat));
            if x < from || x > to {
                return;
            }
            let along = x / 2.3;
            let bead = (along - along.floor() - 0.5) * 2.0;
            let wide = 2.6 + 0.7 * (smooth(x / 5.0, 2.5, seed + 23) - 0.5);
            let over = d / wide + 0.22 * bead * bead;
            if over < 1.0 {
                let v = 0.20 + 0.08 * smooth(x, y, seed + 24);
                let worked = if ground { 0.12 } else { 1.15 };
                point.high += worked * (1.0 - over * over) + if ground { 0.0 } else { 0.16 * (1.0 - bead * bead) };
                point.rgb = if ground { [0.34, 0.34, 0.345] } else { [v, v, v * 1.03] };
                point.shine = 0.8;
            }
        });
        self
    }

    /// Filler to the right of a line, feathered out and sanded.
    pub(super) fn filled(&mut self, x0: f32) -> &mut Self {
        self.each(|x, y, point, seed| {
            let edge = x - x0 - 26.0 * (rough(y / 45.0, 3.5, seed + 25, 3) - 0.5);
            let over = step(-1.0, 1.5, edge);
            let halo = step(-9.0, -1.0, edge) * step(1.5, -1.0, edge);
            point.tint([0.31, 0.29, 0.26], 0.6 * halo);
            let hole = step(0.86, 0.92, smooth(x / 1.7, y / 1.7, seed + 26)) * over;
            point.tint([0.50, 0.44, 0.33], over);
            point.tint([0.10, 0.09, 0.07], 0.8 * hole);
            point.high = mix(point.high, 0.03 * smooth(x * 0.2, y * 3.0, seed + 27), over) - 0.25 * hole;
            point.shine *= 1.0 - 0.92 * over;
        });
        self
    }

    /// Factory lead over a joint: smooth, soft and bright, with its far edge lifting.
    pub(super) fn leaded(&mut self, y0: f32, half: f32) -> &mut Self {
        self.each(|x, y, point, seed| {
            let d = (y - y0 - 7.0 * (smooth(x / 60.0, 4.5, seed + 28) - 0.5)).abs() - half;
            let over = step(1.2, -1.2, d);
            let v = 0.36 + 0.05 * (smooth(x * 0.12, y * 2.6, seed + 29) - 0.5);
            point.tint([v * 0.97, v, v * 1.03], over);
            point.shine = mix(point.shine, 0.30, over);
            point.high = mix(point.high, 0.5 + 0.25 * smooth(x / 30.0, y / 20.0, seed + 30), over);
        });
        self
    }

    /// Packed mud with grit in it.
    pub(super) fn muddied(&mut self, spot: Place) -> &mut Self {
        self.within(spot.reach(), |x, y, point, seed| {
            let over = step(1.1, 0.85, spot.out(x, y, seed + 31));
            if over > 0.0 {
                let lump = rough(x / 6.0, y / 6.0, seed + 32, 4);
                point.high += over * 3.0 * lump;
                point.tint([0.175 * (0.7 + 0.6 * lump), 0.130 * (0.7 + 0.6 * lump), 0.090 * (0.7 + 0.6 * lump)], over);
                point.shine *= 1.0 - over;
            }
        });
        self
    }

    /// A ring of chalk round a find.
    pub(super) fn ringed(&mut self, spot: Place) -> &mut Self {
        self.within(spot.reach(), |x, y, point, seed| {
            let (u, v) = ((x - spot.x) / spot.rx, (y - spot.y) / spot.ry);
            let wander = 0.10 * (smooth(u * 1.3 + 9.0, v * 1.3 + 9.0, seed + 33) - 0.5);
            let off = ((u * u + v * v).sqrt() - 1.0 + wander).abs() * spot.rx.min(spot.ry);
            let chalk = step(1.7, 0.9, off) * step(0.28, 0.62, smooth(x * 1.6, y * 1.6, seed + 34));
            point.tint([0.72, 0.72, 0.68], 0.8 * chalk);
            point.shine *= 1.0 - 0.7 * chalk;
        });
        self
    }

    /// A fold or swage across the sheet.
    pub(super) fn folded(&mut self, y0: f32, wide: f32, up: f32) -> &mut Self {
        self.each(|_, y, point: &mut Point, _| point.high += up * step(y0 - wide, y0 + wide, y));
        self
    }

    /// A round drain or plug hole, clean.
    pub(super) fn drained(&mut self, x0: f32, y0: f32, r: f32) -> &mut Self {
        self.each(|x, y, point, _| {
            let d = ((x - x0) * (x - x0) + (y - y0) * (y - y0)).sqrt();
            point.high -= 1.2 * step(r + 3.0, r, d);
            point.tint([0.012, 0.011, 0.010], step(r + 0.2, r - 0.3, d));
        });
        self
    }

    /// Streaks where water ran down from a line.
    pub(super) fn streaked(&mut self, y0: f32) -> &mut Self {
        self.each(|x, y, point, seed| {
            let below = step(0.0, 4.0, y - y0) * step(130.0, 10.0, y - y0);
            let run = step(0.55, 0.85, rough(x / 7.0, y / 160.0, seed + 35, 3));
            point.tint([0.20, 0.105, 0.055], 0.65 * below * run);
        });
        self
    }
}
