//! The smooth surface between air and the film.

/// Refractive index of the film, clear coat and binder alike.
pub const INDEX: f64 = 1.5;

/// Fresnel reflectance for unpolarised light that arrives at `cosine` to the normal and finds behind
/// the surface a medium whose index is `index` times that of its own; 1 beyond the critical angle.
///
/// Source: Born and Wolf, Principles of Optics, section 1.5.2 (from memory).
///
/// ```
/// assert!((oracle::reflectance(1.0, 1.5) - 0.04).abs() < 1e-15);
/// ```
pub fn reflectance(cosine: f64, index: f64) -> f64 {
    let sine2 = (1.0 - cosine * cosine) / (index * index);
    if sine2 >= 1.0 {
        return 1.0;
    }
    let behind = (1.0 - sine2).sqrt();
    let across = (cosine - index * behind) / (cosine + index * behind);
    let along = (index * cosine - behind) / (index * cosine + behind);
    0.5 * (across * across + along * along)
}

/// The unit vector inside the film of a ray that has this unit vector outside (Snell's law).
pub(crate) fn inside([x, y, z]: [f64; 3]) -> [f64; 3] {
    let (x, y) = (x / INDEX, y / INDEX);
    [x, y, (1.0 - x * x - y * y).sqrt().copysign(z)]
}
