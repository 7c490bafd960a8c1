//! Seeded value noise: the same everywhere, with nothing but arithmetic that every machine rounds alike.

/// A number in 0..1 for a point of the lattice.
pub(super) fn at(x: i32, y: i32, seed: u32) -> f32 {
    let mut h =
        (x as u32).wrapping_mul(0x9e37_79b1) ^ (y as u32).wrapping_mul(0x85eb_ca6b) ^ seed.wrapping_mul(0xc2b2_ae35);
    h ^= h >> 15;
    h = h.wrapping_mul(0x2c1b_3c6d);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297a_2d39);
    h ^= h >> 15;
    (h >> 8) as f32 / 16_777_216.0
}

/// Smooth noise in 0..1; a feature is about 1 wide.
pub(super) fn smooth(x: f32, y: f32, seed: u32) -> f32 {
    let (x0, y0) = (x.floor(), y.floor());
    let (fx, fy) = (ease(x - x0), ease(y - y0));
    let (ix, iy) = (x0 as i32, y0 as i32);
    let top = mix(at(ix, iy, seed), at(ix + 1, iy, seed), fx);
    let bottom = mix(at(ix, iy + 1, seed), at(ix + 1, iy + 1, seed), fx);
    mix(top, bottom, fy)
}

/// Smooth noise with finer noise on it, in 0..1; the coarsest feature is about 1 wide.
pub(super) fn rough(x: f32, y: f32, seed: u32, octaves: u32) -> f32 {
    let (mut sum, mut weight, mut total, mut scale) = (0.0, 1.0, 0.0, 1.0);
    for octave in 0..octaves {
        sum += weight * smooth(x * scale, y * scale, seed.wrapping_add(octave * 101));
        total += weight;
        weight *= 0.5;
        scale *= 2.03;
    }
    sum / total
}

/// From `a` to `b`.
pub(super) fn mix(a: f32, b: f32, t: f32) -> f32 {
    a + (b - a) * t
}

/// 0 below `low`, 1 above `high`, smooth between; falls instead of rising when `low` is the larger.
pub(super) fn step(low: f32, high: f32, value: f32) -> f32 {
    ease(((value - low) / (high - low)).clamp(0.0, 1.0))
}

fn ease(t: f32) -> f32 {
    t * t * (3.0 - 2.0 * t)
}
