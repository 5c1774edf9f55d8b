//! Scale bars, for every page that is meant to be printed at full size.

use std::f64::consts::FRAC_PI_2;

use super::item::{Across, Drawing, Point, Role, Shape, Text, Upright};

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
        Text { at, height: 2.3, angle: 0.0, across: Across::Left, upright: Upright::Top, content: words };
    drawing.add(Role::Title, Shape::Text(text));
    drawing.append(legend(at.shifted(0.0, -6.0)));
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
        upright: Upright::Baseline,
        content: bar.words.to_owned(),
    };
    drawing.add(Role::Scale, Shape::Text(text));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::extents::extents;

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
