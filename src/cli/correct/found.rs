//! The tube that is there and the advice, for programs.

use serde::Serialize;

use tubewright::correct::{Advice, Change, Correction, Mended, Miss, Rest};
use tubewright::plan::RunPlan;

/// The most likely tube and the advice.
#[derive(Serialize)]
pub(super) struct FoundData {
    /// What differs from the plan.
    deviations: Vec<DeviationData>,
    advice: AdviceData,
}

#[derive(Serialize)]
struct DeviationData {
    /// "the angle of bend 2".
    quantity: String,
    unit: &'static str,
    /// How much more it is than planned.
    more: f64,
    /// What 95 % of such tubes stay within.
    half_width: f64,
    /// How likely somebody slipped there, 0 to 1.
    slipped: f64,
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum AdviceData {
    NoPorts,
    Finished {
        as_made: MissData,
        take: Option<usize>,
        ways: Vec<WayData>,
        rest: RestData,
    },
    Begun {
        fits: bool,
        goes_in: f64,
        needs: f64,
        miss: MissData,
        bends: Vec<BendData>,
        cut_mm: [f64; 2],
        rest: RestData,
    },
}

/// How far the last end is off its port.
#[derive(Serialize)]
struct MissData {
    moved_mm: [f64; 3],
    turned_deg: f64,
}

/// A finished tube after some changes.
#[derive(Serialize)]
struct WayData {
    changes: Vec<ChangeData>,
    /// At the end that bending began at, and at the other.
    cut_mm: [f64; 2],
    /// How many times what the fittings forgive it needs.
    needs: f64,
    goes_in: f64,
    miss: MissData,
}

#[derive(Serialize)]
struct ChangeData {
    bend: usize,
    kind: &'static str,
    by_deg: f64,
}

/// A bend that is still to be made.
#[derive(Serialize)]
struct BendData {
    bend: usize,
    mark_mm: f64,
    from_last_end_mm: f64,
    turn_deg: f64,
    angle_deg: f64,
    pull_to_deg: f64,
}

#[derive(Serialize)]
struct RestData {
    length_mm: f64,
    runs: Vec<String>,
}

pub(super) fn found_data(found: &Correction) -> FoundData {
    let deviations = found.estimate.deviations.iter().map(|one| {
        let is_angle = one.quantity.is_angle();
        let number = |value: f64| if is_angle { value.to_degrees() } else { value };
        DeviationData {
            quantity: one.quantity.words(),
            unit: if is_angle { "deg" } else { "mm" },
            more: number(one.value),
            half_width: number(one.half_width),
            slipped: one.slipped,
        }
    });
    FoundData { deviations: deviations.collect(), advice: advice_data(found) }
}

fn advice_data(found: &Correction) -> AdviceData {
    let numbers: Vec<usize> = found.making.bends().collect();
    match &found.advice {
        Advice::NoPorts => AdviceData::NoPorts,
        Advice::Finished(mending) => AdviceData::Finished {
            as_made: miss_data(&mending.as_made),
            take: mending.take,
            ways: mending.ways.iter().map(|way| way_data(way, &numbers)).collect(),
            rest: rest_data(&mending.rest),
        },
        Advice::Begun(going_on) => AdviceData::Begun {
            fits: going_on.fits,
            goes_in: going_on.goes_in,
            needs: going_on.onwards.needs,
            miss: miss_data(&going_on.onwards.miss),
            bends: going_on.planned.as_ref().map_or_else(Vec::new, |planned| bends(found, &planned.run)),
            cut_mm: going_on.onwards.tube.trimmed,
            rest: rest_data(&going_on.rest),
        },
    }
}

fn miss_data(miss: &Miss) -> MissData {
    MissData { moved_mm: miss.moved.into(), turned_deg: miss.angle().to_degrees() }
}

fn way_data(way: &Mended, numbers: &[usize]) -> WayData {
    let change = |change: &Change| {
        let (index, kind, by) = match *change {
            Change::Bend(index, by) => (index, "bend", by),
            Change::Twist(index, by) => (index, "twist", by),
        };
        ChangeData { bend: numbers.get(index).copied().unwrap_or_default(), kind, by_deg: by.to_degrees() }
    };
    WayData {
        changes: way.rework.changes.iter().map(change).collect(),
        cut_mm: way.rework.tube.trimmed,
        needs: way.rework.needs,
        goes_in: way.goes_in,
        miss: miss_data(&way.rework.miss),
    }
}

fn bends(found: &Correction, run: &RunPlan) -> Vec<BendData> {
    let done = found.estimate.made.rows.len();
    let left = run.in_order(found.making.from()).skip(done);
    left.map(|(bend, made)| BendData {
        bend: made.bend,
        mark_mm: made.feed.mark,
        from_last_end_mm: made.feed.from_last_end,
        turn_deg: made.turn.of_tube().to_degrees(),
        angle_deg: bend.angle.to_degrees(),
        pull_to_deg: made.pull.angle.to_degrees(),
    })
    .collect()
}

fn rest_data(rest: &Rest) -> RestData {
    RestData { length_mm: rest.length, runs: rest.runs.clone() }
}
