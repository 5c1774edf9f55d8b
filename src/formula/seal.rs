//! The squeeze of an O-ring that is left with a tube a little thinner than its fitting.
//!
//! Elementary geometry: the gap between tube and gland grows by half of what the diameter lacks, and the
//! ring is squeezed by that much less, whether it sits in the bore or on the tube.

/// Squeeze lost on the radius, mm: (D_f − D)/2, D_f the diameter the fitting is made for, D the tube's.
/// Negative where the tube is the thicker one.
///
/// ```
/// # use tubewright::formula::seal::squeeze_loss;
/// assert_eq!(squeeze_loss(16.0, 15.875), 0.0625);
/// ```
pub fn squeeze_loss(fitting_od: f64, od: f64) -> f64 {
    (fitting_od - od) / 2.0
}

/// Squeeze that is left, as a part of the ring's thickness w, mm: s − loss/w.
///
/// ```
/// # use tubewright::formula::seal::squeeze_left;
/// // A 1.78 mm ring squeezed by 20 % keeps 16.5 % with 0.0625 mm less.
/// assert!((squeeze_left(0.20, 1.78, 0.0625) - 0.165).abs() < 5e-4);
/// ```
pub fn squeeze_left(squeeze: f64, section: f64, loss: f64) -> f64 {
    squeeze - loss / section
}
