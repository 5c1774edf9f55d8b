//! Scales that pictures are drawn at, and scale bars for every page that is meant to be printed at full size.

use std::f64::consts::FRAC_PI_2;

use super::item::{Across, Drawing, ItemShape, Point, Role, Text, Vertical};
use crate::quantity::decimals;

/// The words that belong to the bars on every printed page. The band is the one a print passes by.
pub const PRINT_NOTE: &str = "Print at 100 %: 100 mm must read 99.5 to 100.5.";

/// Room the two bars take beside their line, mm.
pub const BARS_HIGH: f64 = 9.2;

/// Length of the longer bar, mm: 4 in.
pub const BARS_LONG: f64 = 101.6;

/// From one bar to the other, mm.
const APART: f64 = 5.0;

/// A 4 in bar from `at` along `angle` (rad), and to its left a 100 mm bar; marks and words lie to
/// the left of each.
pub fn bars(at: Point, angle: f64) -> Drawing {
    let left = angle + FRAC_PI_2;
    let mut drawing = Drawing::new();
    bar(&mut drawing, at, angle, &Bar { step: 25.4, steps: 4, words: "4 in" });
    bar(&mut drawing, at.polar(APART, left), angle, &Bar { step: 10.0, steps: 10, words: "100 mm" });
    drawing
}

/// Scale bars and legend below `top`.
pub(crate) fn foot(drawing: &mut Drawing, top: f64, legend: impl FnOnce(Point) -> Drawing) {
    drawing.append(bars(Point::new(20.0, top - BARS_HIGH), 0.0));
    drawing.append(bars(Point::new(12.0, top - BARS_HIGH - 104.0), FRAC_PI_2));
    let at = Point::new(20.0, top - BARS_HIGH - 4.0);
    let words = "Print or plot at full size: 100 mm must read 99.5 to 100.5.".to_owned();
    let text =
        Text { at, height: 2.3, angle: 0.0, across: Across::Left, upright: Vertical::Top, content: words };
    drawing.add(Role::Title, ItemShape::Text(text));
    drawing.append(legend(at.shifted(0.0, -6.0)));
}

/// Page mm per mm drawn: the first of `scales`, largest first, at which a size (mm) fits into a room (mm); the
/// largest that fits at all where none of them does. The page is enlarged by `enlarged` after that, so that the
/// scale is one of `scales` on paper.
pub(crate) fn fitting(scales: &[f64], size: (f64, f64), room: (f64, f64), enlarged: f64) -> f64 {
    let fits = |by: &f64| size.0 * by <= room.0 && size.1 * by <= room.1;
    let just = || (room.0 / size.0).min(room.1 / size.1);
    scales.iter().map(|scale| scale / enlarged).find(fits).unwrap_or_else(just)
}

/// "Scale 1 : 2."
pub(crate) fn words(scale: f64) -> String {
    // Dividing by the page and multiplying again may end a rounding error below 1.
    if scale > 1.0 - 1e-9 {
        format!("Scale {scale:.0} : 1.")
    } else {
        format!("Scale 1 : {}.", decimals(1.0 / scale, 1))
    }
}

struct Bar {
    step: f64,
    steps: u8,
    words: &'static str,
}

fn bar(drawing: &mut Drawing, at: Point, angle: f64, bar: &Bar) {
    let left = angle + FRAC_PI_2;
    let long = bar.step * f64::from(bar.steps);
    drawing.line(Role::Scale, at, at.polar(long, angle));
    for count in 0..=bar.steps {
        let high = if count == 0 || count == bar.steps { 2.6 } else { 1.2 };
        let foot = at.polar(bar.step * f64::from(count), angle);
        drawing.line(Role::Scale, foot, foot.polar(high, left));
    }
    let text = Text {
        at: at.polar(long / 2.0, angle).polar(1.8, left),
        height: 1.8,
        angle,
        across: Across::Middle,
        upright: Vertical::Baseline,
        content: bar.words.to_owned(),
    };
    drawing.add(Role::Scale, ItemShape::Text(text));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::extents::extents;

    #[test]
    fn a_scale_is_the_first_that_fits_on_paper_or_just_fits() {
        let scales = [1.0, 0.5, 0.1];
        assert_eq!(fitting(&scales, (100.0, 10.0), (60.0, 60.0), 1.0), 0.5);
        assert_eq!(fitting(&scales, (100.0, 10.0), (60.0, 60.0), 2.0), 0.5);
        assert_eq!(fitting(&scales, (100.0, 10.0), (60.0, 4.0), 2.0), 0.25);
        let by = fitting(&scales, (4000.0, 2000.0), (100.0, 100.0), 1.0);
        assert!((by - 0.025).abs() < 1e-12);
        assert_eq!(words(by), "Scale 1 : 40.");
        assert_eq!(words(1.0 / 2.5), "Scale 1 : 2.5.");
        assert_eq!(words(0.25 * 8.0), "Scale 2 : 1.");
    }

    #[test]
    fn bars_have_their_lengths_in_both_directions() {
        let across = extents(&bars(Point::new(10.0, 20.0), 0.0)).expect("drawn");
        assert!((across.width() - BARS_LONG).abs() < 1e-9);
        assert!(across.min.y >= 20.0 - 1e-9 && across.height() <= BARS_HIGH);
        let up = extents(&bars(Point::new(10.0, 20.0), FRAC_PI_2)).expect("drawn");
        assert!((up.height() - BARS_LONG).abs() < 1e-9);
        assert!(up.max.x <= 10.0 + 1e-9);
    }
}
