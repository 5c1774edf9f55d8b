//! Benders with known springback, radius and stretch are given test bends, laid out as points of a
//! plane, and must be found again from them.

use crate::support;
use proptest::prelude::*;
use tubewright::calibration::{Calibration, Refusal, calibrate, test_pieces};
use tubewright::diagnostic::Span;
use tubewright::spec::model::{Bender, LegMeasure, TestBend};

const OD: f64 = 15.0;

/// What a bender really does.
#[derive(Debug, Clone, Copy)]
struct Truth {
    fixed: f64,
    rate: f64,
    clr: f64,
    stretch: f64,
}

fn truth() -> impl Strategy<Value = Truth> {
    (0.0..1.0f64, 0.0..0.05f64, 20.0..60.0f64, 0.0..0.1f64).prop_map(|(fixed, rate, clr, stretch)| Truth {
        fixed: fixed.to_radians(),
        rate,
        clr,
        stretch,
    })
}

/// Where two lines cross, each given by a point and a direction.
fn crossing(p: [f64; 2], u: [f64; 2], q: [f64; 2], v: [f64; 2]) -> [f64; 2] {
    let cross = |a: [f64; 2], b: [f64; 2]| a[0] * b[1] - a[1] * b[0];
    let along = cross([q[0] - p[0], q[1] - p[1]], v) / cross(u, v);
    [p[0] + along * u[0], p[1] + along * u[1]]
}

/// A piece pulled to `pulled` degrees and measured without error: straights of 120 and 150 mm at either
/// side of the bend.
fn piece(truth: &Truth, pulled: f64, measured: LegMeasure) -> TestBend {
    let pulled = pulled.to_radians();
    let got = pulled - truth.fixed - truth.rate * pulled;
    let (first, second) = (120.0, 150.0);
    let cut = first + second + (1.0 - truth.stretch) * truth.clr * got;
    let bend = TestBend {
        pulled,
        got,
        cut: None,
        leg_a: None,
        leg_b: None,
        measured,
        across: None,
        temper: None,
        place: Span::default(),
    };
    // Along +x to the bend, which turns left about (0, R).
    let (sin, cos) = got.sin_cos();
    let end = [truth.clr * sin, truth.clr * (1.0 - cos)];
    if got > 170f64.to_radians() {
        let back = truth.clr + OD / 2.0;
        let width = (back * sin).hypot(back * (1.0 - cos));
        return TestBend { across: Some(width), ..bend };
    }
    // Lines of the legs, moved to the right (outside) or left (inside) of the direction of travel.
    let aside = match measured {
        LegMeasure::Centre => 0.0,
        LegMeasure::Outside => OD / 2.0,
        LegMeasure::Inside => -OD / 2.0,
    };
    let (p, q) = ([0.0, -aside], [end[0] + aside * sin, end[1] - aside * cos]);
    let [x, y] = crossing(p, [1.0, 0.0], q, [cos, sin]);
    let leg_b = (q[0] - x).hypot(q[1] - y) + second;
    TestBend { cut: Some(cut), leg_a: Some(first + x), leg_b: Some(leg_b), ..bend }
}

/// The same, every reading off by a part (−1 to 1) of 0.1 mm or 0.1°.
fn misread(bend: TestBend, off: [f64; 4]) -> TestBend {
    let read = |length: Option<f64>, off: f64| length.map(|length| length + 0.1 * off);
    TestBend {
        got: bend.got + (0.1 * off[0]).to_radians(),
        cut: read(bend.cut, off[1]),
        leg_a: read(bend.leg_a, off[2]),
        leg_b: read(bend.leg_b, off[3]),
        across: read(bend.across, off[1]),
        ..bend
    }
}

fn fitted(nominal: f64, test_bends: Vec<TestBend>) -> Calibration {
    calibrate(&Bender { test_bends, ..support::testing::bender(nominal) }, OD).unwrap()
}

/// How far a fit is off: radius, mm; stretch, part of the arc; springback anywhere over the tested
/// angles, degrees.
fn errors(fit: &Calibration, truth: &Truth) -> [f64; 3] {
    let at = |pulled: f64| {
        (fit.fixed.value + fit.rate.value * pulled - truth.fixed - truth.rate * pulled).to_degrees().abs()
    };
    let springback = fit.pieces.iter().map(|piece| at(piece.pulled)).fold(0.0, f64::max);
    [(fit.clr.value - truth.clr).abs(), (fit.stretch.value - truth.stretch).abs(), springback]
}

/// Even numbers from −1 to 1, the same in every run (splitmix64, Steele and others 2014).
struct Even(u64);

impl Even {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() + 1.0) / 2.0
    }
}

/// Worst errors over many benders (R 20 to 60 mm, `clr` as written up to 3 % off, stretch up to 10 %) whose
/// pieces are pulled to these angles and misread by up to 0.1 mm and 0.1°.
fn worst_errors(angles: &[f64]) -> [f64; 3] {
    let mut even = Even(1);
    let mut worst = [0.0f64; 3];
    for _ in 0..4000 {
        let truth = Truth {
            fixed: even.within(0.0, 1.0).to_radians(),
            rate: even.within(0.0, 0.05),
            clr: even.within(20.0, 60.0),
            stretch: even.within(0.0, 0.1),
        };
        let bends = angles.iter().map(|pulled| {
            // A U is pulled until it is one.
            let pulled = if *pulled == 180.0 {
                (180f64.to_radians() + truth.fixed).to_degrees() / (1.0 - truth.rate)
            } else {
                *pulled
            };
            let side = [LegMeasure::Centre, LegMeasure::Outside, LegMeasure::Inside]
                [even.within(0.0, 3.0) as usize % 3];
            misread(piece(&truth, pulled, side), [even.next(), even.next(), even.next(), even.next()])
        });
        let bends = bends.collect();
        let fit = fitted(truth.clr * even.within(0.97, 1.03), bends);
        assert_eq!(fit.refusal, None, "{truth:?}");
        for (worst, error) in worst.iter_mut().zip(errors(&fit, &truth)) {
            *worst = worst.max(error);
        }
    }
    worst
}

fn stays_below(angles: &[f64], limits: [f64; 3]) {
    let worst = worst_errors(angles);
    let sound = worst.iter().zip(limits).all(|(worst, limit)| *worst < limit);
    assert!(sound, "{angles:?}: {worst:?} mm, of the arc, degrees; wanted {limits:?}");
}

/// Measured worst: 0.047 mm, 0.38 % of the arc, 0.090°.
#[test]
fn twelve_pieces_four_of_them_u_bends_give_a_tenth_of_a_millimetre_half_a_percent_and_a_tenth_of_a_degree() {
    let angles = [45.0, 45.0, 45.0, 45.0, 90.0, 90.0, 120.0, 120.0, 180.0, 180.0, 180.0, 180.0];
    stays_below(&angles, [0.1, 0.005, 0.1]);
}

/// Measured worst: 0.053 mm, 0.95 %, 0.125°.
#[test]
fn three_pieces_with_a_u_bend_know_the_radius_as_well() {
    stays_below(&[45.0, 90.0, 180.0], [0.1, 0.01, 0.15]);
}

/// The pieces of the worksheet, their U pulled to 180° and no further: it may open to 170°.
#[test]
fn the_pieces_of_the_worksheet_calibrate_as_well_as_the_best_three() {
    let pieces = test_pieces(&support::testing::bender(55.0));
    let angles: Vec<f64> = pieces.iter().map(|piece| piece.pull.to_degrees().min(179.999_999)).collect();
    assert_eq!(angles.len(), 3);
    stays_below(&angles, [0.1, 0.011, 0.15]);
}

/// A U that closes past 180° tells the radius as one that falls short of it.
#[test]
fn a_u_past_180_degrees_is_read_as_well() {
    for past in [1.0, 5.0, 10.0f64] {
        let truth = Truth { fixed: 0.01, rate: 0.02, clr: 55.0, stretch: 0.02 };
        let pulled = ((180.0 + past).to_radians() + truth.fixed) / (1.0 - truth.rate);
        let bends =
            [45.0, 90.0, pulled.to_degrees()].map(|pulled| piece(&truth, pulled, LegMeasure::Outside));
        let [radius, stretch, springback] = errors(&fitted(54.0, bends.to_vec()), &truth);
        assert!(
            radius < 1e-9 && stretch < 1e-9 && springback < 1e-9,
            "{past}: {radius} {stretch} {springback}"
        );
    }
}

/// Legs alone know the radius less well, however carefully they are fitted: at 120° and a radius of 60 mm,
/// 0.1° moves the legs by as much as 0.23 mm of radius. Measured worst: 0.53 mm, 0.79 %, 0.106° for twelve
/// pieces and 0.93 mm, 1.9 %, 0.129° for three.
#[test]
fn without_a_u_bend_the_radius_is_known_to_half_a_millimetre_or_one() {
    let twelve: Vec<f64> = (0..12).map(|index| 45.0 + 75.0 * f64::from(index) / 11.0).collect();
    stays_below(&twelve, [0.6, 0.009, 0.12]);
    stays_below(&[45.0, 90.0, 120.0], [1.0, 0.021, 0.15]);
}

/// Standard errors say what the errors come to: by the pieces' scatter and by what readings are said to be
/// off, over many sets of twelve. Even noise of ±1 has a standard deviation of 1/√3 of the reading.
#[test]
fn standard_errors_are_as_large_as_the_errors() {
    let mut even = Even(7);
    let truth = Truth { fixed: 0.005, rate: 0.02, clr: 50.0, stretch: 0.03 };
    let (mut square, mut by_scatter, mut by_reading) = ([0.0; 3], [0.0; 3], [0.0; 3]);
    for _ in 0..2000 {
        let angles = [45.0, 45.0, 60.0, 60.0, 75.0, 75.0, 90.0, 90.0, 105.0, 105.0, 120.0, 120.0];
        let bends = angles.map(|pulled| {
            let off = [even.next(), even.next(), even.next(), even.next()];
            misread(piece(&truth, pulled, LegMeasure::Centre), off)
        });
        let fit = fitted(50.0, bends.to_vec());
        let constants = [(fit.clr, truth.clr), (fit.stretch, truth.stretch), (fit.rate, truth.rate)];
        for (index, (constant, true_value)) in constants.into_iter().enumerate() {
            square[index] += (constant.value - true_value).powi(2);
            by_scatter[index] += constant.standard_error.unwrap().powi(2);
            by_reading[index] += constant.reading_error.unwrap().powi(2);
        }
    }
    for index in 0..3 {
        let scatter = (by_scatter[index] / square[index]).sqrt();
        let reading = (by_reading[index] / square[index] / 3.0).sqrt();
        assert!((0.9..1.1).contains(&scatter), "constant {index}: {scatter}");
        assert!((0.9..1.1).contains(&reading), "constant {index}: {reading}");
    }
}

/// One piece of five and one of eight spoiled by 2 mm or 2°: always refused, no other piece ever named, and
/// the spoiled one named in nine sets of ten (measured 91 and 92 %).
#[test]
fn the_spoiled_piece_is_named_in_nine_sets_of_ten() {
    let mut even = Even(3);
    let mut told = [0; 2];
    let sets: [&[f64]; 2] =
        [&[45.0, 45.0, 90.0, 120.0, 120.0], &[45.0, 45.0, 45.0, 90.0, 90.0, 90.0, 120.0, 120.0]];
    for (set, told) in sets.iter().zip(&mut told) {
        for round in 0..4000 {
            let truth = Truth { fixed: 0.005, rate: 0.02, clr: even.within(20.0, 60.0), stretch: 0.03 };
            let mut bends: Vec<TestBend> = set
                .iter()
                .map(|pulled| {
                    let off = [even.next(), even.next(), even.next(), even.next()];
                    misread(piece(&truth, *pulled, LegMeasure::Outside), off)
                })
                .collect();
            let spoiled = round % set.len();
            let by = if even.next() > 0.0 { 2.0 } else { -2.0 };
            let bend = &mut bends[spoiled];
            if round % 2 == 0 {
                bend.got += f64::to_radians(by);
            } else {
                bend.leg_a = bend.leg_a.map(|leg| leg + by);
            }
            match fitted(truth.clr, bends).refusal {
                Some(Refusal::DoNotAgree { piece, told: true, .. }) => {
                    assert_eq!(piece, spoiled);
                    *told += 1;
                }
                Some(Refusal::DoNotAgree { .. }) => {}
                other => panic!("{other:?}"),
            }
        }
    }
    assert!(told.iter().all(|told| *told > 3600), "{told:?} of 4000 each");
}

fn measured() -> impl Strategy<Value = LegMeasure> {
    prop::sample::select(vec![LegMeasure::Centre, LegMeasure::Outside, LegMeasure::Inside])
}

/// At least two pieces at each of three angles.
fn set() -> impl Strategy<Value = Vec<f64>> {
    (2..4usize, 2..4usize, 2..4usize)
        .prop_map(|(small, square, wide)| [vec![45.0; small], vec![90.0; square], vec![120.0; wide]].concat())
}

proptest! {
    #[test]
    fn without_noise_every_constant_comes_back(
        truth in truth(),
        small in 30.0..60.0f64,
        wide in 110.0..160.0f64,
        more in prop::collection::vec(30.0..190.0f64, 0..5),
        side in measured(),
    ) {
        let bends = [small, wide].iter().chain(&more).map(|pulled| piece(&truth, *pulled, side)).collect();
        let fit = fitted(truth.clr * 1.05, bends);
        prop_assert_eq!(fit.refusal, None);
        prop_assert_eq!(fit.radius_held, None);
        let [radius, stretch, springback] = errors(&fit, &truth);
        prop_assert!(radius < 1e-9 * truth.clr && stretch < 1e-9 && springback < 1e-9, "{:?}", fit);
        prop_assert!(fit.pieces.iter().all(|piece| piece.worst_length().is_none_or(|l| l.off.abs() < 1e-9)));
    }

    #[test]
    fn legs_measured_all_three_ways_say_the_same(truth in truth(), pulled in 20.0..165.0f64) {
        let sums = [LegMeasure::Centre, LegMeasure::Outside, LegMeasure::Inside].map(|side| {
            fitted(truth.clr, vec![piece(&truth, pulled, side)]).pieces[0].leg_sum.unwrap()
        });
        prop_assert!((sums[0] - sums[1]).abs() < 1e-9 && (sums[0] - sums[2]).abs() < 1e-9, "{sums:?}");
    }

    #[test]
    fn one_spoiled_piece_is_refused_and_never_another_one_named(
        truth in truth(),
        angles in set(),
        which in any::<prop::sample::Index>(),
        what in 0..4usize,
        up in any::<bool>(),
        noise in prop::collection::vec([-1.0..1.0f64, -1.0..1.0, -1.0..1.0, -1.0..1.0], 9),
        side in measured(),
    ) {
        let mut bends: Vec<TestBend> =
            angles.iter().zip(&noise).map(|(pulled, off)| misread(piece(&truth, *pulled, side), *off)).collect();
        prop_assert_eq!(fitted(truth.clr, bends.clone()).refusal, None, "sound before");
        let spoiled = which.index(bends.len());
        let by = if up { 2.0 } else { -2.0 };
        let bend = &mut bends[spoiled];
        match what {
            0 => bend.got += f64::to_radians(by),
            1 => bend.cut = bend.cut.map(|cut| cut + by),
            2 => bend.leg_a = bend.leg_a.map(|leg| leg + by),
            _ => bend.leg_b = bend.leg_b.map(|leg| leg + by),
        }
        let fit = fitted(truth.clr, bends);
        let Some(Refusal::DoNotAgree { piece, told, .. }) = fit.refusal else {
            return Err(TestCaseError::fail(format!("{:?}", fit.refusal)));
        };
        prop_assert!(!told || piece == spoiled, "{piece} {spoiled}");
        prop_assert!(fit.formed().is_none());
    }

    #[test]
    fn nothing_that_can_be_written_gives_a_number_that_is_none(
        clr in 1e-3..1e5f64,
        od in 1e-2..1e4f64,
        raw in prop::collection::vec((0.01..200.0f64, 0.01..180.0f64, prop::option::of([1e-3..1e6f64, 1e-3..1e6,
            1e-3..1e6]), prop::option::of(1e-3..1e6f64)), 1..6),
        side in measured(),
    ) {
        let bends = raw.iter().map(|(pulled, got, lengths, across)| TestBend {
            pulled: pulled.to_radians(),
            got: got.to_radians(),
            cut: lengths.map(|l| l[0]),
            leg_a: lengths.map(|l| l[1]),
            leg_b: lengths.map(|l| l[2]),
            measured: side,
            across: *across,
            temper: None,
            place: Span::default(),
        });
        let fit = calibrate(&Bender { test_bends: bends.collect(), ..support::testing::bender(clr) }, od).unwrap();
        for constant in [fit.fixed, fit.rate, fit.clr, fit.stretch] {
            let errors = [constant.standard_error, constant.reading_error];
            prop_assert!(constant.value.is_finite(), "{fit:?}");
            prop_assert!(errors.into_iter().flatten().all(f64::is_finite), "{fit:?}");
        }
        if let Some(formed) = fit.formed() {
            prop_assert!(formed.clr > od / 2.0 && formed.springback_rate < 0.5 && formed.stretch < 0.16);
        }
    }
}
