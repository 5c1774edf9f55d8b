//! How far a run may miss its second port.

use super::FromEnd;
use crate::quantity::{fixed, trimmed};

/// The error at the far end of a run whose both ends have a port, 95 % of it.
#[derive(Debug, Clone, PartialEq)]
pub struct FarEnd {
    /// The end that is put in first: the one that bending begins at.
    pub first: FromEnd,
    /// The far end's error with the tube laid from there as drawn.
    pub error: Reach,
    /// What the fittings at both ends forgive.
    pub forgiven: [Reach; 2],
    /// The quantity that most of the place's error is due to; none where nothing is uncertain.
    pub dominant: Option<Dominant>,
    /// How likely it is that the tube goes in at both ends without being bent again, 0 to 1.
    pub goes_in: f64,
    /// Tube to leave at the far end and to trim away once it is tried, mm: 0 where the fittings forgive the length.
    pub leave: f64,
    /// What shows the dominant error before the tube is tried.
    pub early: Option<Early>,
}

impl FarEnd {
    /// What the fitting at the far end forgives.
    pub fn forgiven_there(&self) -> Reach {
        match self.first {
            FromEnd::Datum => self.forgiven[1],
            FromEnd::Other => self.forgiven[0],
        }
    }

    /// "83 %": how likely the tube goes in, as far as the tubes that were tried tell.
    pub fn goes_in_percent(&self) -> String {
        match self.goes_in * 100.0 {
            few if few < 1.0 => "less than 1 %".to_owned(),
            many if many > 99.0 => "more than 99 %".to_owned(),
            some => format!("{some:.0} %"),
        }
    }

    /// The end that is put in last is "off by up to 1.2 mm along, 0.9 mm to a side and 0.8°".
    pub fn off_words(&self) -> String {
        format!("off by up to {}", words(&self.error))
    }

    /// Its fitting forgives "3.0 mm along, 0.5 mm to a side and 1.0°".
    pub fn forgiven_words(&self) -> String {
        words(&self.forgiven_there())
    }

    /// What most of the error is due to, and what shows it early; nothing where nothing is uncertain.
    pub fn dominant_words(&self) -> Option<String> {
        let dominant = self.dominant?;
        let what = format!("{} of it is {}", percent_words(dominant.share), dominant.quantity.words());
        let early = match self.early? {
            Early::EndToEnd { plane, of, mm, off } => {
                let template =
                    if of > 1 { format!("template of plane {plane}") } else { "template".to_owned() };
                format!(
                    "seen early at the {template}: {} mm end to end, with that alone {} mm more or less",
                    fixed(mm, 1),
                    fixed(off, 1)
                )
            }
            Early::Turn { bend } => {
                format!("no template has it: measure the turn of bend {bend} before the next")
            }
            Early::Ports => "measure the ports once more".to_owned(),
        };
        Some(format!("{what}; {early}"))
    }

    /// How much tube to leave at the far end; nothing where the fittings forgive the length.
    pub fn leave_words(&self) -> Option<String> {
        let end = self.first.opposite().name();
        (self.leave > 0.0)
            .then(|| format!("leave {} mm at the {end} to trim away once it is tried", fixed(self.leave, 0)))
    }
}

/// "1.2 mm along, 0.9 mm to a side and 0.8°".
fn words(reach: &Reach) -> String {
    let [along, across] = [reach.along, reach.across].map(|mm| fixed(mm, 1));
    format!("{along} mm along, {across} mm to a side and {}°", fixed(reach.angle.to_degrees(), 1))
}

fn percent_words(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// An error, or what is forgiven of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Along the tube, either way, mm.
    pub along: f64,
    /// To any side, mm.
    pub across: f64,
    /// Of its direction, rad.
    pub angle: f64,
}

/// The quantity that an error is mostly due to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dominant {
    /// The quantity.
    pub quantity: Quantity,
    /// Its part of the variance of the far end's place.
    pub share: f64,
}

/// A quantity that is not known exactly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// Where the mark of a bend is, and how the tube is held to it.
    Mark(usize),
    /// A bend's angle.
    Angle(usize),
    /// The turn of the tube before a bend.
    Turn(usize),
    /// The finished radius of all bends of one radius, mm.
    Radius(f64),
    /// The length the tube is cut to.
    Length,
    /// The places of both ports.
    Ports,
}

impl Quantity {
    /// In words: "the mark of bend 2".
    pub fn words(self) -> String {
        match self {
            Quantity::Mark(bend) => format!("the mark of bend {bend}"),
            Quantity::Angle(bend) => format!("the angle of bend {bend}"),
            Quantity::Turn(bend) => format!("the turn to bend {bend}"),
            Quantity::Radius(clr) => format!("the radius of {} mm", trimmed(clr)),
            Quantity::Length => "the cut length".to_owned(),
            Quantity::Ports => "the places of the ports".to_owned(),
        }
    }

    /// Whether it is an angle.
    pub fn is_angle(self) -> bool {
        matches!(self, Quantity::Angle(_) | Quantity::Turn(_))
    }

    /// The bend it is of, where it is of one.
    pub fn bend(self) -> Option<usize> {
        match self {
            Quantity::Mark(bend) | Quantity::Angle(bend) | Quantity::Turn(bend) => Some(bend),
            Quantity::Radius(_) | Quantity::Length | Quantity::Ports => None,
        }
    }
}

/// What shows an error before the tube is tried in its ports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Early {
    /// The distance between the ends of a template.
    EndToEnd {
        /// The template's plane, from 1, datum end first.
        plane: usize,
        /// How many planes the run has.
        of: usize,
        /// The distance as it should be, mm.
        mm: f64,
        /// How far 95 % of the dominant error change it, either way, mm.
        off: f64,
    },
    /// No template has it: the angle between the planes before and behind a bend.
    Turn {
        /// The bend.
        bend: usize,
    },
    /// The ports, measured again.
    Ports,
}
