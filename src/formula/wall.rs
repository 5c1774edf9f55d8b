//! Change of the wall by a bend, at its back (heel) and inside (throat). D outside diameter, t wall, R centreline
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

/// Wall at the inside of the bend, mm: t·R/(R − D/2), the counterpart of [`outer_wall`]: all that the
/// inner fibre is shortened by goes into the wall, so a real wall is a little thinner.
///
/// ```
/// # use tubewright::formula::wall::inner_wall;
/// // 15.875 x 1.245 at R 50: 1.4799 mm, 18.9 % thicker.
/// assert!((inner_wall(15.875, 1.245, 50.0) - 1.4799).abs() < 5e-5);
/// ```
pub fn inner_wall(od: f64, wall: f64, radius: f64) -> f64 {
    wall * radius / (radius - od / 2.0)
}

/// Least wall of a bend to reckon pressure with, mm: t/(1 + D/(2.5·R)), R ≥ 3 D (rules of Lloyd's Register for copper
/// pipe, the formula from memory: the wall before bending is t·(1 + D/(2.5·R))).
///
/// ```
/// # use tubewright::formula::wall::bent_wall;
/// // 15 x 1 at R 55: 9.8 % thinner; constant volume gives 12.0 % at the very back.
/// assert!((1.0 - bent_wall(15.0, 1.0, 55.0) - 0.098).abs() < 5e-4);
/// ```
pub fn bent_wall(od: f64, wall: f64, radius: f64) -> f64 {
    wall / (1.0 + od / (2.5 * radius))
}

/// Wall to expect at the inside of the bend, mm: t·(1 + D/(2.5·R)), the counterpart of [`bent_wall`] (own estimate).
///
/// ```
/// # use tubewright::formula::wall::thickened;
/// assert!((thickened(15.0, 1.0, 55.0) - 1.1091).abs() < 5e-5);
/// ```
pub fn thickened(od: f64, wall: f64, radius: f64) -> f64 {
    wall * (1.0 + od / (2.5 * radius))
}

/// Wall before bending over the least wall that is wanted after it, 1: 1.06, 1.08, 1.14, 1.25 at R = 6, 5, 4, 3 D,
/// between them in a straight line, and none below 3 D (ASME B31.1, table 102.4.5, as a federal guide specification for
/// pipe prints it, table 5-4).
///
/// ```
/// # use tubewright::formula::wall::before_bending;
/// assert_eq!(before_bending(10.0, 30.0), Some(1.25));
/// assert!((before_bending(15.0, 55.0).unwrap() - 1.1767).abs() < 5e-5);
/// ```
pub fn before_bending(od: f64, radius: f64) -> Option<f64> {
    const ROWS: [(f64, f64); 4] = [(3.0, 1.25), (4.0, 1.14), (5.0, 1.08), (6.0, 1.06)];
    let ratio = radius / od;
    let (&(least, _), &(most, thin)) = ROWS.first().zip(ROWS.last())?;
    if ratio < least {
        return None;
    }
    let between = ROWS.windows(2).find_map(|two| match two {
        [(low, more), (high, less)] if ratio <= *high => {
            Some(more + (ratio - low) / (high - low) * (less - more))
        }
        _ => None,
    });
    between.or((ratio > most).then_some(thin))
}

/// Factor on the stress at the inside (intrados) of a bend under pressure, 1:
/// I = (4R/D − 1)/(4R/D − 2), ASME B31.3, 304.2.1 eq. (3d). The wall wanted there is
/// t = P·D/(2·(S·E·W/I + P·Y)).
///
/// ```
/// # use tubewright::formula::wall::intrados_factor;
/// assert!((intrados_factor(10.0, 30.0) - 1.1).abs() < 1e-12);
/// ```
pub fn intrados_factor(od: f64, radius: f64) -> f64 {
    let ratio = 4.0 * radius / od;
    (ratio - 1.0) / (ratio - 2.0)
}

/// The same at its back (extrados), 1: I = (4R/D + 1)/(4R/D + 2), eq. (3e). On the sides it is 1.
///
/// ```
/// # use tubewright::formula::wall::extrados_factor;
/// assert!((extrados_factor(10.0, 30.0) - 0.9286).abs() < 5e-5);
/// ```
pub fn extrados_factor(od: f64, radius: f64) -> f64 {
    let ratio = 4.0 * radius / od;
    (ratio + 1.0) / (ratio + 2.0)
}
