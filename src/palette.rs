//! The colours of runs, the same on every picture and in CAD.

/// An sRGB colour, 0 ..= 255 per channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

impl Rgb {
    /// The channels as 0 ..= 1, still sRGB-encoded, as STEP and PDF want them.
    pub fn unit(self) -> [f64; 3] {
        [self.0, self.1, self.2].map(|c| f64::from(c) / 255.0)
    }
}

/// Components: a light neutral grey that no run uses.
pub const COMPONENT: Rgb = Rgb(200, 202, 204);

/// Forms, jigs and their parts: the colour of birch board, lighter than any run's.
pub const TOOL: Rgb = Rgb(226, 205, 163);

/// Run colours, chosen for unlike lightness as much as hue, so that they stay apart in grey print.
const RUNS: [Rgb; 8] = [
    Rgb(181, 101, 29),
    Rgb(38, 96, 140),
    Rgb(92, 133, 56),
    Rgb(132, 60, 96),
    Rgb(214, 154, 45),
    Rgb(74, 156, 152),
    Rgb(88, 74, 134),
    Rgb(150, 136, 110),
];

/// The colour of the run with this index in the spec; colours repeat after eight.
pub fn run_colour(index: usize) -> Rgb {
    RUNS[index % RUNS.len()]
}
