//! The report for programs: lengths in mm, angles in degrees, every key always there.

use serde::Serialize;
use tubewright::calibration::{Calibrated, Calibration, Constant, PieceFit, held, next};
use tubewright::diagnostic::Diagnostic;
use tubewright::export;
use tubewright::formula::calibration::pull_to;
use tubewright::quantity::Unit;
use tubewright::spec::model::Spec;

use crate::cli::read::ReadSpec;

#[derive(Serialize)]
pub(super) struct CalibrationReport<'a> {
    spec: String,
    status: &'static str,
    findings: Vec<&'a Diagnostic>,
    benders: Vec<Bender>,
}

#[derive(Serialize)]
struct Bender {
    name: String,
    tube: String,
    od_mm: f64,
    clr_mm: f64,
    runs: Vec<String>,
    /// None without test bends.
    calibration: Option<Fit>,
}

#[derive(Serialize)]
struct Fit {
    used: bool,
    pieces: Vec<PieceReport>,
    springback_fixed_deg: Number,
    springback_rate: Number,
    formed_clr_mm: Number,
    stretch: Number,
    cannot_tell: Vec<String>,
    next: Vec<String>,
    /// Empty where the fit is not used.
    pull_to: Vec<PullTo>,
}

#[derive(Serialize)]
struct Number {
    value: f64,
    held: bool,
    standard_error: Option<f64>,
    reading_error: Option<f64>,
}

#[derive(Serialize)]
struct PieceReport {
    number: usize,
    line: usize,
    pulled_deg: f64,
    got_deg: f64,
    springback_deg: f64,
    angle_off_deg: f64,
    leg_sum_mm: Option<f64>,
    legs_off_mm: Option<f64>,
    across_off_mm: Option<f64>,
}

#[derive(Serialize)]
struct PullTo {
    angle_deg: f64,
    pull_to_deg: f64,
}

/// One spec's benders.
pub(super) fn report<'a>(
    spec: &'a ReadSpec<Spec>,
    strict: bool,
    benders: &[Calibrated<'_>],
) -> CalibrationReport<'a> {
    CalibrationReport {
        spec: spec.path.display().to_string(),
        status: if spec.sound(strict) { "sound" } else { "errors" },
        findings: spec.findings.iter().collect(),
        benders: benders.iter().map(bender).collect(),
    }
}

/// The report of the command.
pub(super) fn render(specs: &[CalibrationReport<'_>]) -> String {
    #[derive(Serialize)]
    struct Report<'a> {
        command: &'static str,
        specs: &'a [CalibrationReport<'a>],
    }
    let report = Report { command: "calibrate", specs };
    String::from_utf8_lossy(&export::json::document(&report)).into_owned()
}

fn bender(calibrated: &Calibrated<'_>) -> Bender {
    let Calibrated { bender, tube, runs, calibration, unit } = calibrated;
    Bender {
        name: bender.name.clone(),
        tube: tube.designation().to_owned(),
        od_mm: tube.od(),
        clr_mm: bender.clr,
        runs: runs.iter().map(|run| (*run).to_owned()).collect(),
        calibration: calibration.as_ref().map(|calibration| fit(calibration, bender.clr, *unit)),
    }
}

fn fit(calibration: &Calibration, clr: f64, unit: Unit) -> Fit {
    let formed = calibration.formed();
    let angles = [30.0f64, 45.0, 90.0, 180.0];
    let pulled = formed.iter().flat_map(|formed| {
        angles.map(|angle| PullTo {
            angle_deg: angle,
            pull_to_deg: pull_to(angle.to_radians(), formed.springback_fixed, formed.springback_rate)
                .to_degrees(),
        })
    });
    Fit {
        used: formed.is_some(),
        pieces: calibration.pieces.iter().map(piece).collect(),
        springback_fixed_deg: number(&calibration.fixed, f64::to_degrees),
        springback_rate: number(&calibration.rate, |rate| rate),
        formed_clr_mm: number(&calibration.clr, |clr| clr),
        stretch: number(&calibration.stretch, |stretch| stretch),
        cannot_tell: held(calibration, clr, unit),
        next: next(calibration, unit),
        pull_to: pulled.collect(),
    }
}

fn number(constant: &Constant, unit: impl Fn(f64) -> f64) -> Number {
    Number {
        value: unit(constant.value),
        held: constant.held,
        standard_error: constant.standard_error.map(&unit),
        reading_error: constant.reading_error.map(&unit),
    }
}

fn piece(piece: &PieceFit) -> PieceReport {
    PieceReport {
        number: piece.number,
        line: piece.place.line,
        pulled_deg: piece.pulled.to_degrees(),
        got_deg: piece.got.to_degrees(),
        springback_deg: (piece.pulled - piece.got).to_degrees(),
        angle_off_deg: piece.angle_off.to_degrees(),
        leg_sum_mm: piece.leg_sum,
        legs_off_mm: piece.legs.map(|legs| legs.off),
        across_off_mm: piece.across.map(|across| across.off),
    }
}
