//! What a bend does to the wall at its back (heel). D outside diameter, t wall, R centreline
//! radius, all mm; valid for R > D/2.

/// Engineering strain of the outermost fibre, 1: D/(2R). The neutral axis is taken on the
/// centreline (beam theory, any strength-of-materials text).
///
/// ```
/// # use tubewright::formula::wall::outer_strain;
/// assert!((outer_strain(15.875, 57.15) - 0.139).abs() < 5e-4);
/// ```
pub fn outer_strain(od: f64, radius: f64) -> f64 {
    od / (2.0 * radius)
}

/// Wall at the back of the bend, mm: t·R/(R + D/2). All the stretch of the outer fibre is taken from
/// the wall and none from the girth, so a real wall is a little thicker (elementary geometry).
///
/// ```
/// # use tubewright::formula::wall::outer_wall;
/// // R = 3 D thins by 14.29 %.
/// assert!((1.0 - outer_wall(10.0, 1.0, 30.0) - 0.1429).abs() < 5e-5);
/// ```
pub fn outer_wall(od: f64, wall: f64, radius: f64) -> f64 {
    wall * radius / (radius + od / 2.0)
}
