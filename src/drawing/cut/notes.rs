//! Notes for cutting: a few lines beside the parts.

use crate::plan::SpringbackSource;
use crate::quantity::{decimals, trimmed};
use crate::spec::model::SheetStock;
use crate::tooling::form::Form;
use crate::tooling::jig::{Duty, Jig};
use crate::tooling::trial::{KERF_BLOCK_MM, KERF_BLOCKS, kerf};
use crate::tooling::{Opening, Purpose, SheetWork};

/// A wider cut is a router's: half of it is more than tabs and slots have play, so their inner corners jam, mm.
const ROUND_CORNERS_MM: f64 = 1.0;

/// Notes for cutting a form's layers.
pub fn form_notes(form: &Form, stock: &SheetStock) -> Vec<String> {
    let held = |by: &str| {
        let (held, finished) = (decimals(form.held_radius, 2), trimmed(form.clr));
        format!("It holds the tube at radius {held} so that it springs back to {finished} ({by}).")
    };
    let sprung = match form.source {
        SpringbackSource::Unknown => {
            "Springback is not known: the form has the radius of the bend as drawn.".to_owned()
        }
        SpringbackSource::Predicted => held("springback predicted"),
        SpringbackSource::TestBends => held("springback from test bends"),
    };
    let mut lines = vec![
        format!(
            "Bending form {}: {} layers for tube of OD {}, stacked L1 at the bottom.",
            form.name,
            form.stack.parts.len(),
            trimmed(form.od)
        ),
        sprung,
    ];
    lines.extend(cutting(stock));
    lines.push(holes(&form.stack));
    lines.extend(
        [
            "Glue and bolt the layers with the dowels in; round the edges that touch the tube; look for cracks before each use.",
            "Wood chars and plastic softens (PLA at about 60, PETG 80, ABS 100 degrees C): let annealed tube cool to the touch first.",
        ]
        .map(str::to_owned),
    );
    lines
}

/// Notes for cutting a jig's parts.
pub fn jig_notes(jig: &Jig, stock: &SheetStock) -> Vec<String> {
    let count = |role: Duty| jig.uprights.iter().filter(|upright| upright.duty == role).count();
    let guards = match count(Duty::Guard) {
        0 => String::new(),
        1 => ", a guard".to_owned(),
        more => format!(", {more} guards"),
    };
    let mut lines = vec![format!(
        "Checking jig of run {}: base, {} cradles{guards}, stop and gate; jigs/{}.pdf shows how they go together.",
        jig.run,
        count(Duty::Cradle),
        jig.run
    )];
    lines.extend(cutting(stock));
    lines.push(format!(
        "Slots are {} mm wider than the tabs that go in, on both sizes: find yours with trials/comb.dxf.",
        trimmed(stock.slot_fit)
    ));
    if stock.kerf > ROUND_CORNERS_MM {
        let words = "A cutter this wide leaves inner corners round: file those of slots and tabs square.";
        lines.push(words.to_owned());
    }
    lines.push("Round sharp edges and clear the saddles of splinters.".to_owned());
    lines
}

/// Notes for cutting and reading the comb.
pub fn comb_notes(stock: &SheetStock) -> Vec<String> {
    let whole = KERF_BLOCKS as f64 * KERF_BLOCK_MM;
    let mut lines = vec![
        format!(
            "Kerf: cut the blocks k1 to k{KERF_BLOCKS} along layer CUT, lay them side by side and measure them together: kerf = ({} - measured) / {KERF_BLOCKS}. 98 mm is a kerf of {} mm.",
            trimmed(whole),
            trimmed(kerf(98.0))
        ),
        "Slot fit: write the kerf into the spec, build again, and cut comb and feeler along CUT-KERF. Push the feeler's edge into the slots".to_owned(),
        "with the thumb: the figure at the first slot that takes it without a hammer and holds it is `slot_fit`.".to_owned(),
    ];
    lines.extend(cutting(stock).into_iter().take(1));
    lines.push(format!("CUT-KERF is made for a kerf of {} mm.", trimmed(stock.kerf)));
    lines
}

/// Notes for every part cut from sheet.
fn cutting(stock: &SheetStock) -> Vec<String> {
    vec![
        format!(
            "Full size, millimetres. Made for sheet {} mm thick: measure yours, and if it differs write `thickness` in the spec.",
            trimmed(stock.thickness)
        ),
        format!(
            "Cut layer CUT-KERF, made for a kerf of {} mm. Cut CUT instead if the machine takes up the kerf itself. Never cut both.",
            trimmed(stock.kerf)
        ),
    ]
}

/// The round holes of a work in words.
fn holes(work: &SheetWork) -> String {
    let diameter = |wanted: Purpose| {
        work.parts.iter().flat_map(|part| &part.openings).find_map(|opening| match opening {
            Opening::Round { diameter, purpose, .. } if *purpose == wanted => Some(trimmed(*diameter)),
            _ => None,
        })
    };
    let words: Vec<String> = [("dowels", Purpose::Dowel), ("bolts", Purpose::Bolt)]
        .into_iter()
        .filter_map(|(what, purpose)| Some(format!("{what} {} mm", diameter(purpose)?)))
        .collect();
    if words.is_empty() {
        return "The layers are too narrow for holes: line them up by their edges and clamp them.".to_owned();
    }
    format!("DRILL repeats the round holes of CUT: {}.", words.join(", "))
}
