//! Where the four pictures go and at which scale.

use super::{FRAME_MM, PAGE_HEIGHT, PAGE_WIDTH};
use crate::drawing::extents::Rect;
use crate::drawing::item::Point;

/// Scales, as page mm per mm of the scene: those of ISO 5455 and some between, to fill the page.
const SCALES: [(f64, &str); 22] = [
    (10.0, "10:1"),
    (5.0, "5:1"),
    (2.0, "2:1"),
    (1.0, "1:1"),
    (1.0 / 1.5, "1:1.5"),
    (1.0 / 2.0, "1:2"),
    (1.0 / 2.5, "1:2.5"),
    (1.0 / 3.0, "1:3"),
    (1.0 / 4.0, "1:4"),
    (1.0 / 5.0, "1:5"),
    (1.0 / 6.0, "1:6"),
    (1.0 / 7.0, "1:7"),
    (1.0 / 8.0, "1:8"),
    (1.0 / 10.0, "1:10"),
    (1.0 / 12.5, "1:12.5"),
    (1.0 / 15.0, "1:15"),
    (1.0 / 20.0, "1:20"),
    (1.0 / 25.0, "1:25"),
    (1.0 / 50.0, "1:50"),
    (1.0 / 100.0, "1:100"),
    (1.0 / 200.0, "1:200"),
    (1.0 / 500.0, "1:500"),
];

/// The isometric picture is no smaller than this part of the flat ones.
const LEAST_ISOMETRIC: f64 = 0.55;

/// Room under each picture for its caption and axes, mm.
pub(super) const CAPTION_MM: f64 = 15.0;

/// Room around a picture, mm.
const PAD_MM: f64 = 4.0;

/// One picture's place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Place {
    /// Where the scene's origin appears, mm.
    pub(super) at: Point,
    /// Page mm per mm of the scene.
    pub(super) scale: f64,
    /// The scale in words.
    pub(super) scale_name: String,
    /// Box around what is seen, mm.
    pub(super) seen: Rect,
    /// The cell it stands in, labels and caption included, mm.
    pub(super) cell: Rect,
}

/// The page with its four places: front, top, left side, isometric.
pub(super) struct Page {
    /// Inside of the frame, mm.
    pub(super) frame: Rect,
    /// Height of the band with legend and title at the bottom, mm.
    pub(super) band: f64,
    /// The places in the order front, top, left side, isometric.
    pub(super) places: [Place; 4],
}

/// Widths of the two columns of cells, heights of the two rows, and the scales of the flat pictures
/// and of the isometric one.
struct Grid {
    widths: [f64; 2],
    heights: [f64; 2],
    flat: (f64, String),
    isometric: (f64, String),
}

impl Page {
    /// Arranges pictures whose boxes at full size are `seen` (front, top, left side, isometric), with
    /// columns of labels `column` mm wide on both sides of each and a band of `band` mm at the bottom.
    pub(super) fn new(seen: [Rect; 4], column: f64, band: f64) -> Self {
        let edge = Point::new(FRAME_MM, FRAME_MM);
        let frame = Rect::new(edge, Point::new(PAGE_WIDTH - FRAME_MM, PAGE_HEIGHT - FRAME_MM));
        let room = (frame.width(), frame.height() - band);
        let grid = grid(&seen, room, column);

        let left = frame.min.x;
        let top = frame.max.y;
        let cell = |x: usize, y: usize| {
            let x0 = left + if x == 0 { 0.0 } else { grid.widths[0] };
            let y1 = top - if y == 0 { 0.0 } else { grid.heights[0] };
            Rect::new(Point::new(x0, y1 - grid.heights[y]), Point::new(x0 + grid.widths[x], y1))
        };
        // The flat views line up: one middle in x for front and top, one in z for front and side.
        let front = seen[0].centre();
        let middles = [
            front,
            Point::new(front.x, seen[1].centre().y),
            Point::new(seen[2].centre().x, front.y),
            seen[3].centre(),
        ];
        let place = |index: usize, cell: Rect, (scale, name): &(f64, String)| {
            let middle = cell.centre().shifted(0.0, CAPTION_MM / 2.0);
            let at = middle.shifted(-middles[index].x * scale, -middles[index].y * scale);
            let on_page = |p: Point| at.shifted(p.x * scale, p.y * scale);
            let seen = Rect::new(on_page(seen[index].min), on_page(seen[index].max));
            Place { at, scale: *scale, scale_name: name.clone(), seen, cell }
        };
        let places = [
            place(0, cell(0, 0), &grid.flat),
            place(1, cell(0, 1), &grid.flat),
            place(2, cell(1, 0), &grid.flat),
            place(3, cell(1, 1), &grid.isometric),
        ];
        Page { frame, band, places }
    }
}

/// The largest scale at which everything fits and the isometric picture is not much smaller.
fn grid(seen: &[Rect; 4], room: (f64, f64), column: f64) -> Grid {
    let width = |rect: &Rect, scale: f64| rect.width() * scale + 2.0 * (column + PAD_MM);
    let height = |rect: &Rect, scale: f64| rect.height() * scale + CAPTION_MM + 2.0 * PAD_MM;
    let [front, top, side, isometric] = seen;
    let beyond = {
        // Larger than a building: a scale that just fits, in words to two digits.
        let most = seen.iter().map(|r| r.width().max(r.height())).fold(1.0, f64::max);
        let scale = 40.0 / most;
        (scale, format!("1:{:.0}", 1.0 / scale))
    };
    let scales: Vec<(f64, String)> =
        SCALES.iter().map(|&(s, name)| (s, name.to_owned())).chain([beyond.clone()]).collect();

    for (index, flat) in scales.iter().enumerate() {
        let s = flat.0;
        let least_w = [width(front, s).max(width(top, s)), width(side, s)];
        let least_h = [height(front, s).max(height(side, s)), height(top, s)];
        let spare = (room.0 - least_w[0] - least_w[1], room.1 - least_h[0] - least_h[1]);
        if spare.0 < 0.0 || spare.1 < 0.0 {
            continue;
        }
        let (most_w, most_h) = (room.0 - least_w[0], room.1 - least_h[0]);
        let fits = |i: f64| width(isometric, i) <= most_w && height(isometric, i) <= most_h;
        let Some(iso) = scales[index..].iter().find(|scale| fits(scale.0)) else { continue };
        if iso.0 < LEAST_ISOMETRIC * s {
            continue;
        }
        // Give the isometric cell what it needs, then share what is left.
        let share = |least: [f64; 2], spare: f64, wanted: f64| {
            let extra = (wanted - least[1]).clamp(0.0, spare);
            let rest = (spare - extra) / 2.0;
            [least[0] + rest, least[1] + extra + rest]
        };
        return Grid {
            widths: share(least_w, spare.0, width(isometric, iso.0)),
            heights: share(least_h, spare.1, height(isometric, iso.0)),
            flat: flat.clone(),
            isometric: iso.clone(),
        };
    }
    Grid { widths: [room.0 / 2.0; 2], heights: [room.1 / 2.0; 2], flat: beyond.clone(), isometric: beyond }
}
