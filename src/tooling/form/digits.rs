//! Figures made of sunk bars that do not touch each other, so that each is a plain pocket.

use super::room::TurnedRect;
use crate::flat::Point;

/// Height of a figure, mm.
pub(super) const HEIGHT_MM: f64 = 7.0;
/// Width of a figure, mm.
const WIDTH_MM: f64 = 4.0;
/// Width of a bar, mm: two lines of a 0.4 mm nozzle.
const BAR_MM: f64 = 0.8;
/// Wall between two bars, mm: one line of a 0.4 mm nozzle.
const WALL_MM: f64 = 0.4;
/// Gap between two figures, mm.
const GAP_MM: f64 = 1.2;

/// Which bars a figure has: top, middle, bottom, upper left, upper right, lower left, lower right.
fn bars(figure: char) -> [bool; 7] {
    let lit = match figure {
        '0' => 0b101_1111,
        '1' => 0b000_0101,
        '2' => 0b111_0110,
        '3' => 0b111_0101,
        '4' => 0b010_1101,
        '5' => 0b111_1001,
        '6' => 0b111_1011,
        '7' => 0b100_0101,
        '8' => 0b111_1111,
        '9' => 0b111_1101,
        _ => 0,
    };
    [64, 32, 16, 8, 4, 2, 1].map(|bit| lit & bit != 0)
}

fn width(figure: char) -> f64 {
    if figure == '.' { BAR_MM } else { WIDTH_MM }
}

/// The box of a number in figures and a point, centred on a point and turned.
pub(super) fn frame(number: &str, centre: Point, angle: f64) -> TurnedRect {
    let gaps = number.chars().count().saturating_sub(1) as f64 * GAP_MM;
    let width = number.chars().map(width).sum::<f64>() + gaps;
    TurnedRect { centre, width, height: HEIGHT_MM, angle }
}

/// The bars of a number within its box.
pub(super) fn pockets(number: &str, frame: &TurnedRect) -> Vec<TurnedRect> {
    let mut left = -frame.width / 2.0;
    let mut found = Vec::new();
    let up = frame.angle + std::f64::consts::FRAC_PI_2;
    let mut bar = |x: f64, y: f64, width: f64, height: f64| {
        let centre = frame.centre.polar(x, frame.angle).polar(y, up);
        found.push(TurnedRect { centre, width, height, angle: frame.angle });
    };
    let (outer, half) = ((HEIGHT_MM - BAR_MM) / 2.0, HEIGHT_MM / 4.0 - BAR_MM / 4.0);
    let upright = (HEIGHT_MM - 3.0 * BAR_MM) / 2.0 - 2.0 * WALL_MM;
    for figure in number.chars() {
        let (middle, far) = (left + WIDTH_MM / 2.0, left + WIDTH_MM - BAR_MM / 2.0);
        let near = left + BAR_MM / 2.0;
        if figure == '.' {
            bar(near, -outer, BAR_MM, BAR_MM);
        }
        let level = [outer, 0.0, -outer].map(|y| (middle, y, WIDTH_MM, BAR_MM));
        let sides = [(near, half), (far, half), (near, -half), (far, -half)];
        let sides = sides.map(|(x, y)| (x, y, BAR_MM, upright));
        for (lit, (x, y, w, h)) in bars(figure).into_iter().zip(level.into_iter().chain(sides)) {
            if lit {
                bar(x, y, w, h);
            }
        }
        left += width(figure) + GAP_MM;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_stay_in_their_box_and_clear_of_each_other() {
        let number = "0123456789.8";
        let frame = frame(number, Point::new(3.0, -2.0), 0.0);
        let pockets = pockets(number, &frame);
        // Bars of the figures on a pocket calculator, and one for the point.
        assert_eq!(pockets.len(), 6 + 2 + 5 + 5 + 4 + 5 + 6 + 3 + 7 + 6 + 1 + 7);
        for (index, bar) in pockets.iter().enumerate() {
            assert!(bar.corners().iter().all(|&corner| frame.distance(corner) < 1e-9));
            assert!(pockets[..index].iter().all(|other| !bar.meets(other, WALL_MM - 1e-9)));
        }
    }
}
