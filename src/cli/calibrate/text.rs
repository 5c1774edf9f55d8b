//! The report for people.

use std::f64::consts::FRAC_PI_2;

use tubewright::calibration::{Calibrated, Calibration, Constant, Formed, LengthFit, PieceFit, held, next};
use tubewright::formula::bend::arc_length;
use tubewright::formula::calibration::pull_to;
use tubewright::quantity::fixed;

use crate::cli::table;
use crate::cli::terminal::Page;

/// Pieces, constants and what they mean; none for a bender without test bends.
pub(super) fn bender(calibrated: &Calibrated<'_>, page: Page) -> Option<String> {
    let Calibrated { bender, tube, runs, calibration, unit } = calibrated;
    let calibration = calibration.as_ref()?;
    let mut text = format!("{}, {} ({})\n\n", bender.name, tube.designation(), runs.join(", "));
    text.push_str(&pieces(calibration, page));
    text.push('\n');
    text.push_str(&constants(calibration, page));
    section(&mut text, "What these pieces cannot tell:", &held(calibration, bender.clr, *unit));
    match calibration.formed() {
        Some(formed) => {
            text.push_str(&meaning(&formed, page));
            section(&mut text, "Next:", &next(calibration, *unit));
        }
        None => text.push_str("\nThese constants are not used: see the error.\n"),
    }
    Some(text)
}

fn section(text: &mut String, title: &str, sentences: &[String]) {
    if !sentences.is_empty() {
        text.push_str(&format!("\n{title}\n"));
        sentences.iter().for_each(|sentence| text.push_str(&format!("- {sentence}\n")));
    }
}

fn pieces(calibration: &Calibration, page: Page) -> String {
    let rows = calibration.pieces.iter().map(|piece| {
        let PieceFit { number, pulled, got, angle_off, leg_sum, legs, across, .. } = *piece;
        let off = |length: Option<LengthFit>| length.map_or_else(dash, |length| signed(length.off));
        vec![
            number.to_string(),
            degrees(pulled),
            degrees(got),
            degrees(pulled - got),
            signed(angle_off.to_degrees()),
            leg_sum.map_or_else(dash, |sum| format!("{sum:.2}")),
            off(legs),
            off(across),
        ]
    });
    let header = [
        "piece",
        "pulled °",
        "got °",
        "springback °",
        "off °",
        "leg sum mm",
        "legs off mm",
        "radius across off mm",
    ];
    table::set(&header, rows, 1, page)
}

fn constants(calibration: &Calibration, page: Page) -> String {
    let Calibration { fixed, rate, clr, stretch, .. } = calibration;
    let row = |name: &str, constant: &Constant, show: &dyn Fn(f64) -> String| {
        let error = |error: Option<f64>| error.map_or_else(dash, show);
        let value = show(constant.value);
        let value = if constant.held { format!("{value} (held)") } else { value };
        vec![name.to_owned(), value, error(constant.standard_error), error(constant.reading_error)]
    };
    let percent = |value: f64| format!("{:.2} %", value * 100.0);
    let rows = [
        row("springback at 0°", fixed, &|value| format!("{}°", degrees(value))),
        row("springback more per degree pulled", rate, &percent),
        row("radius of the finished bend", clr, &|value| format!("{value:.2} mm")),
        row("stretch, of the arc", stretch, &percent),
    ];
    let header = ["constant", "value", "± by scatter", "± by 0.1 mm and 0.1°"];
    table::set(&header, rows, 1, page)
}

/// The effect of the constants at the bench.
fn meaning(formed: &Formed, page: Page) -> String {
    let rows = [30.0f64, 45.0, 90.0, 180.0].map(|angle| {
        let pulled = pull_to(angle.to_radians(), formed.springback_fixed, formed.springback_rate);
        let arc = arc_length(formed.clr, angle.to_radians());
        let used = (1.0 - formed.stretch) * arc;
        vec![
            format!("{angle:.0}°"),
            format!("{}°", degrees(pulled)),
            format!("{arc:.2}"),
            format!("{used:.2}"),
        ]
    });
    let gained = formed.stretch * arc_length(formed.clr, FRAC_PI_2);
    let stretches = if gained < 0.0 { "becomes shorter" } else { "stretches" };
    format!(
        "\n{}\nA 90° bend {stretches} by {:.2} mm.\n",
        table::set(&["bend", "pull to", "arc mm", "tube used mm"], rows, 1, page),
        gained.abs()
    )
}

fn degrees(angle: f64) -> String {
    format!("{:.2}", angle.to_degrees())
}

fn signed(value: f64) -> String {
    let text = fixed(value, 2);
    if text.starts_with('-') || text == "0.00" { text } else { format!("+{text}") }
}

fn dash() -> String {
    "-".to_owned()
}
