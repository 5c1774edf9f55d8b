//! The leak test with air: its limit, how long to hold, what pressure to expect as the temperature changes, a log to
//! fill in.

use super::cautions::Caution;
use super::steps::add_step;
use crate::drawing::numbers::tenths;
use crate::drawing::page::flow::{Cell, Column, Flow, Table};
use crate::formula::pressure::{gauge_pressure, per_kelvin, water_leak};

/// Gauge pressures of the test that the table is for, bar: common practice, no source.
const PRESSURES: [f64; 2] = [0.3, 0.5];

/// The highest of them, bar.
const HIGHEST: f64 = 0.5;

/// Temperature the table starts from, °C.
const START: f64 = 20.0;

/// Last digits of gauges, bar, with the decimals to write them with.
const DIGITS: [(f64, usize); 3] = [(0.1, 1), (0.01, 2), (0.001, 3)];

/// When to read the gauge, minutes.
const READINGS: [u32; 5] = [0, 5, 15, 30, 60];

/// The hold that leaks are told for, hours.
const HALF_HOUR: f64 = 0.5;

/// The shortest hold, hours: air and tube come to one temperature (common practice, no source).
const SHORTEST: f64 = 0.25;

/// A leak of one drop an hour, ml/h: twenty drops are a millilitre (common practice, no source).
const DROP: f64 = 0.05;

/// A gauge, and the test that can be made with it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Gauge {
    /// Its last digit, bar.
    digit: f64,
    /// Decimals that it shows.
    decimals: usize,
    /// The fall that passes, bar: the least number of its digits that is more than one of them and the change that one
    /// kelvin makes.
    limit: f64,
}

impl Gauge {
    fn new((digit, decimals): (f64, usize)) -> Self {
        let least = digit + per_kelvin(HIGHEST, START);
        Gauge { digit, decimals, limit: (least / digit).ceil() * digit }
    }

    /// Whether its limit is small beside the lowest pressure of the test: a tenth of it.
    fn is_of_use(self) -> bool {
        self.limit <= 0.1 * PRESSURES[0]
    }

    /// Water, ml per hour, of the leak that the limit shows after `hours` in `volume` ml.
    fn shows(self, volume: f64, hours: f64) -> f64 {
        water_leak(volume, self.limit / hours, HIGHEST)
    }

    /// Hours to hold until a leak of `water` ml per hour shows.
    fn hold(self, volume: f64, water: f64) -> f64 {
        self.shows(volume, 1.0) / water
    }
}

/// Adds the leak test of tubes that hold `volume` ml.
pub(super) fn leak(flow: &mut Flow, volume: f64) {
    flow.heading("Leak test with air, before any liquid");
    let steps = [
        (
            "Close every open end, with a gauge and a valve on one. Pump slowly to 0.3 to 0.5 bar: never more with compressed air, and never above the rating of the weakest part. Close the valve, wait 5 minutes: fresh air cools first. Then begin the log.",
            &[Caution::Air][..],
        ),
        (
            "Fill in the log. Read the temperature of the tube, not of the room: a hand on the tube, the sun or a warm machine counts. Write down the pressure that the table gives for that temperature. Hold it for the last column of the table below, times the volume of all that is tested over that of the tubes: ______ min. The test passes if, at the end of the hold, the gauge reads below it by no more than the limit for such a gauge.",
            &[],
        ),
        (
            "If it falls: let the pressure off, brush soapy water on the joints, pump up again and look for bubbles.",
            &[],
        ),
    ];
    for (words, cautions) in steps {
        add_step(flow, words, cautions);
    }
    gauges(flow, volume);
    expected(flow);
    log(flow);
}

/// What each gauge can show.
fn gauges(flow: &mut Flow, volume: f64) {
    let words = format!(
        "Which gauge is of use. The limit is wider than one digit of the gauge and 1 °C together. A leak is given as the water that would come through it at 0.5 bar, a drop as 0.05 ml. Worked for air at 0.5 bar in the tubes alone, {} ml: with twice the volume, as blocks and tanks add it, the leak that shows is twice as large and the hold twice as long; at 0.3 bar both are 1.8 times as much.",
        tenths(volume)
    );
    flow.paragraph(&words, false, true);
    let mut table = Table::new(vec![
        Column::numbers("gauge shows, bar", None),
        Column::numbers("limit, bar", None),
        Column::numbers("30 min show, ml/h", None),
        Column::numbers("hold, to show a drop an hour", None),
    ]);
    table.together = true;
    for gauge in DIGITS.map(Gauge::new) {
        let shows = if gauge.is_of_use() {
            [format!("{:.3}", gauge.shows(volume, HALF_HOUR)), hours(gauge.hold(volume, DROP).max(SHORTEST))]
        } else {
            ["of no use".to_owned(), "".to_owned()]
        };
        let [leak, hold] = shows;
        let shown = |bar: f64| format!("{bar:.*}", gauge.decimals);
        let row = [shown(gauge.digit), shown(gauge.limit), leak, hold];
        table.rows.push(row.map(Cell::Words).into());
    }
    flow.table(&table);
}

/// "40 min" or "3.5 h".
fn hours(hours: f64) -> String {
    const MINUTES: f64 = 60.0;
    if hours < 1.0 { format!("{:.0} min", (hours * MINUTES).ceil()) } else { format!("{} h", tenths(hours)) }
}

fn expected(flow: &mut Flow) {
    let narrow = flow.wide < super::card::ONE_ROW;
    let step = if narrow { 2 } else { 1 };
    let temperatures: Vec<f64> = (-5..=5).filter(|t| t % step == 0).map(|t| START + f64::from(t)).collect();
    flow.paragraph(
        "Expected gauge pressure, bar, by the tube's temperature, if first read at 20 °C and nothing leaks. From another temperature: the same change per degree; where the barometer rises by 10 mbar, the gauge reads 10 mbar less.",
        false,
        true,
    );
    let mut columns = vec![Column::words("at 20 °C", Some(22.0))];
    columns.extend(temperatures.iter().map(|t| Column::numbers(&format!("{t:.0} °C"), None)));
    let mut table = Table::new(columns);
    for pressure in PRESSURES {
        let mut row = vec![Cell::Bold(format!("{pressure:.2}"))];
        let at = temperatures.iter().map(|&t| format!("{:.3}", gauge_pressure(pressure, START, t)));
        row.extend(at.map(Cell::Words));
        table.rows.push(row);
    }
    flow.table(&table);
}

fn log(flow: &mut Flow) {
    let mut columns = vec![Column::words("after minutes", Some(40.0))];
    columns.extend(READINGS.iter().map(|minutes| Column::words(&minutes.to_string(), None)));
    columns.push(Column::words("end of hold", None));
    let blank = columns.len() - 1;
    let mut table = Table::new(columns);
    table.least = 6.6;
    table.together = true;
    for words in ["time", "read, bar", "tube, °C", "by the table, bar"] {
        let mut row = vec![Cell::Words(words.to_owned())];
        row.extend((0..blank).map(|_| Cell::Blank));
        table.rows.push(row);
    }
    flow.table(&table);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limit_is_wider_than_a_digit_and_a_kelvin() {
        // 1.513 25 bar/293.15 K: 5.16 mbar.
        let limits = DIGITS.map(|gauge| (Gauge::new(gauge).limit * 1000.0).round());
        assert_eq!(limits, [200.0, 20.0, 7.0]);
        for (digit, decimals) in DIGITS {
            assert!(Gauge::new((digit, decimals)).limit > digit + 1.513_25 / 293.15);
        }
    }

    #[test]
    fn the_leak_that_shows_goes_with_the_volume_and_against_the_time() {
        let gauge = Gauge::new(DIGITS[1]);
        // 300 ml that lose 20 mbar in half an hour: 11.84 ml/h of air, 0.173 ml/h of water, worked apart.
        assert!((gauge.shows(300.0, 0.5) - 0.1725).abs() < 5e-5);
        assert!((gauge.shows(600.0, 1.0) - 0.1725).abs() < 5e-5);
        assert!((gauge.hold(300.0, 0.05) - 1.7254).abs() < 5e-4);
        assert_eq!([hours(0.25), hours(1.7254)], ["15 min", "1.7 h"]);
        assert_eq!(DIGITS.map(|gauge| Gauge::new(gauge).is_of_use()), [false, true, true]);
        // As the sheet says: the same fall at 0.3 bar is a leak 1.8 times as wide.
        let width = |gauge: f64| 1.0 / (gauge * (gauge + 2.0 * 1.013_25));
        assert!((width(0.3) / width(0.5) - 1.81).abs() < 5e-3);
    }
}
