//! A planned run as it is measured: which quantities its tube has, by the names of the pages, and what each would read.

use std::collections::BTreeMap;

use strum::VariantArray;

use super::model::{FromEnd, Operation, RunPlan};
use crate::centreline::{Bend, LaidRun, Layout, TableRow, lay};
use crate::formula::bend::setback;
use crate::formula::calibration::back_of_leg;
use crate::geometry::{Frame, MetricSpace};
use crate::spec::model::{LegMeasure, MOST_CROSSING, MadeBend, MadeTemplate, Measurable, Off, What};

/// The quantities that can be read on a run's tube, nothing trimmed yet; none for a run that the layout has not.
pub fn measurable(layout: &Layout, run: &RunPlan) -> Option<Measurable> {
    let laid = layout.runs.iter().find(|laid| laid.run.name == run.name)?;
    let walk = Walk::new(laid, run);
    let templates = walk.templates();
    let mut planned = BTreeMap::from([(What::Cut, run.cut_length)]);
    for (at, step) in walk.steps.iter().enumerate() {
        planned.extend(walk.of_bend(at, step));
    }
    for (at, template) in templates.iter().enumerate() {
        let number = at + 1;
        let across = walk.end_to_end(&template.bends);
        planned.insert(What::EndToEnd(number), across);
        planned.extend(Off::VARIANTS.iter().map(|off| (What::FarEnd(number, *off), 0.0)));
        let on = |bend: &usize| [Off::Left, Off::Above].map(|off| (What::OnTemplate(*bend, off), 0.0));
        planned.extend(template.bends.iter().flat_map(on));
    }
    Some(Measurable {
        run: run.name.clone(),
        runs: layout.runs.iter().map(|laid| laid.run.name.clone()).collect(),
        unit: layout.units,
        od: run.tube.od,
        cut: run.cut_length,
        bends: walk.steps.iter().map(|step| walk.made(step)).collect(),
        templates,
        planned,
    })
}

/// A run's bends in the order they are made.
struct Walk<'r> {
    laid: &'r LaidRun,
    run: &'r RunPlan,
    from: FromEnd,
    steps: Vec<Step<'r>>,
    /// Tube behind the last bend, mm, with what is trimmed there.
    rest: f64,
}

struct Step<'r> {
    bend: &'r Bend,
    made: &'r Operation,
    /// Tube in front of it, mm; of the first bend with what is trimmed there.
    straight: f64,
}

impl<'r> Walk<'r> {
    fn new(laid: &'r LaidRun, run: &'r RunPlan) -> Self {
        let from = run.begins_at();
        let waste = run.allowances(from);
        let bends = laid.centreline.bends();
        let step = |(index, made): (usize, &'r Operation)| {
            let bend = bends.get(made.bend.checked_sub(1)?)?;
            let trimmed = if index == 0 { waste[0] } else { 0.0 };
            Some(Step { bend, made, straight: made.feed.straight_before + trimmed })
        };
        let steps: Vec<Step<'r>> = run.operations(from).iter().enumerate().filter_map(step).collect();
        let behind = match from {
            FromEnd::Datum => run.straights.last(),
            FromEnd::Other => run.straights.first(),
        };
        Walk { laid, run, from, steps, rest: behind.copied().unwrap_or_default() + waste[1] }
    }

    /// From where a bend starts to where the lines of its legs cross, mm; none where these are far away.
    fn to_crossing(&self, bend: &Bend, to: LegMeasure) -> Option<f64> {
        let side = match to {
            LegMeasure::Centre => 0.0,
            LegMeasure::Outside => 1.0,
            LegMeasure::Inside => -1.0,
        };
        (bend.angle <= MOST_CROSSING)
            .then(|| setback(bend.radius, bend.angle) + side * back_of_leg(self.run.tube.od, bend.angle))
    }

    /// The planned readings of the bend at a position in the order they are made.
    fn of_bend(&self, at: usize, step: &Step<'_>) -> Vec<(What, f64)> {
        let (number, arc) = (step.bend.number, step.made.arc);
        let mut all = vec![
            (What::Angle(number), step.bend.angle),
            (What::Starts(number), arc.start),
            (What::Ends(number), arc.end()),
        ];
        let before = at.checked_sub(1).and_then(|before| self.steps.get(before));
        all.extend(before.map(|_| (What::Turn(number), step.made.turn.rotation)));
        for &to in LegMeasure::VARIANTS {
            let Some(crossing) = self.to_crossing(step.bend, to) else { continue };
            all.push((What::Leg(number, to), step.straight + crossing));
            let behind = before.and_then(|before| self.to_crossing(before.bend, to));
            all.extend(behind.map(|behind| (What::Between(number, to), behind + step.straight + crossing)));
        }
        all
    }

    fn made(&self, step: &Step<'_>) -> MadeBend {
        let rest = self.run.cut_length - step.made.arc.end();
        let last_leg = |to: &LegMeasure| Some((*to, rest + self.to_crossing(step.bend, *to)?));
        MadeBend {
            number: step.bend.number,
            angle: step.bend.angle,
            pulled: step.made.pull.angle,
            last_leg: LegMeasure::VARIANTS.iter().filter_map(last_leg).collect(),
        }
    }

    /// The templates as they are printed; a run without bends has one.
    fn templates(&self) -> Vec<MadeTemplate> {
        let groups = self.laid.centreline.plane_groups();
        let count = groups.len();
        let name = |number: usize| match count {
            0 | 1 => self.run.name.clone(),
            _ => format!("{} plane {number}", self.run.name),
        };
        if count == 0 {
            return vec![MadeTemplate { number: 1, name: name(1), bends: Vec::new() }];
        }
        let numbers = |group: &std::ops::Range<usize>| group.clone().map(|index| index + 1);
        let from_datum = groups.iter().enumerate().map(|(index, group)| (index + 1, numbers(group)));
        let template = |(number, bends)| MadeTemplate { number, name: name(number), bends };
        match self.from {
            FromEnd::Datum => {
                from_datum.map(|(number, bends)| (number, bends.collect())).map(template).collect()
            }
            FromEnd::Other => from_datum
                .rev()
                .map(|(number, bends)| (number, bends.rev().collect()))
                .map(template)
                .collect(),
        }
    }

    /// Distance between the ends of the tube's part with these bends, from the bend before to the one behind, mm.
    fn end_to_end(&self, bends: &[usize]) -> f64 {
        let of_part = |step: &&Step<'_>| bends.contains(&step.bend.number);
        let row = |step: &Step<'_>, first: bool| TableRow {
            length: step.straight,
            // The part begins in the plane of its first bend.
            rotation: if first { 0.0 } else { step.made.turn.rotation },
            angle: step.bend.angle,
            radius: step.bend.radius,
        };
        let rows: Vec<TableRow> = self
            .steps
            .iter()
            .filter(of_part)
            .enumerate()
            .map(|(index, step)| row(step, index == 0))
            .collect();
        let last = self.steps.iter().rposition(|step| bends.contains(&step.bend.number));
        let behind = last.and_then(|last| self.steps.get(last + 1)).map_or(self.rest, |next| next.straight);
        if rows.is_empty() {
            return self.run.cut_length;
        }
        let part = lay(Frame::default(), &rows, behind);
        part.start().distance(part.end())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::check;
    use crate::plan::{Better, plan};
    use crate::testing::{layout, table_run};

    /// A run by its table (straight, turn, angle), of 15 mm tube at 40 mm radius, 10 mm to trim in front and 5 mm behind.
    fn of(rows: &[(f64, f64, f64)], from: FromEnd) -> Measurable {
        let mut laid = table_run("t", 40.0, rows, 70.0);
        (laid.run.allowance_start, laid.run.allowance_end) = (10.0, 5.0);
        let layout = layout(vec![laid], vec![]);
        let (mut plan, _) = plan(&layout, &check(&layout).0);
        plan.runs[0].order.better = Better::From(from);
        measurable(&layout, &plan.runs[0]).unwrap()
    }

    fn is(run: &Measurable, what: What, wanted: f64) {
        let found = run.planned(what, run.bends.len()).unwrap();
        assert!((found - wanted).abs() < 1e-3, "{what:?}: {found}, not {wanted}");
    }

    #[test]
    fn lengths_are_those_that_a_rule_reads() {
        // Worked by hand: 15 mm tube, radius 40 mm, so that a right angle's crossing is 40 mm from either end of it,
        // 47.5 mm over the back and 32.5 mm inside.
        let run = of(&[(60.0, 0.0, 90.0), (80.0, 90.0, 90.0)], FromEnd::Datum);
        is(&run, What::Leg(1, LegMeasure::Centre), 110.0);
        is(&run, What::Leg(1, LegMeasure::Outside), 117.5);
        is(&run, What::Leg(2, LegMeasure::Inside), 112.5);
        is(&run, What::Between(2, LegMeasure::Outside), 175.0);
        is(&run, What::LastLeg(LegMeasure::Centre), 115.0);
        is(&run, What::Starts(1), 70.0);
        is(&run, What::Ends(2), 70.0 + 80.0 + 2.0 * 62.8319);
        is(&run, What::Cut, 225.0 + 2.0 * 62.8319);
        // With bend 1 alone the rest is straight: 225 + 62.832 less the 70 in front of the bend, and the crossing.
        let half = run.planned(What::LastLeg(LegMeasure::Centre), 1).unwrap();
        assert!((half - (155.0 + 62.8319 + 40.0)).abs() < 1e-3, "{half}");
        assert_eq!(
            (run.planned(What::Turn(1), 2), run.planned(What::Between(1, LegMeasure::Centre), 2)),
            (None, None)
        );
        is(&run, What::Turn(2), 90f64.to_radians());
        // Two legs of 110 and 120 mm at a right angle.
        is(&run, What::EndToEnd(1), 110f64.hypot(120.0));
        is(&run, What::EndToEnd(2), 120f64.hypot(115.0));
    }

    #[test]
    fn from_the_other_end_the_bends_come_the_other_way_round_and_templates_keep_their_names() {
        let run = of(&[(60.0, 0.0, 90.0), (80.0, 90.0, 45.0), (50.0, 0.0, 160.0)], FromEnd::Other);
        assert_eq!(run.bends.iter().map(|bend| bend.number).collect::<Vec<_>>(), [3, 2, 1]);
        let templates: Vec<_> =
            run.templates.iter().map(|t| (t.number, t.name.as_str(), t.bends.clone())).collect();
        assert_eq!(templates, [(2, "t plane 2", vec![3, 2]), (1, "t plane 1", vec![1])]);
        is(&run, What::Starts(3), 75.0);
        // The lines of a bend of 160° cross far away.
        assert_eq!(run.planned(What::Leg(3, LegMeasure::Outside), 3), None);
        assert_eq!(run.planned(What::Between(2, LegMeasure::Outside), 3), None);
        is(&run, What::Leg(2, LegMeasure::Centre), 50.0 + 40.0 * 22.5f64.to_radians().tan());
        // The second template is that of the first plane: 80 mm before bend 1, 60 and 10 behind.
        is(&run, What::EndToEnd(2), 120f64.hypot(110.0));
        assert_eq!(run.name(What::EndToEnd(2)), "template 1 end_to_end");
        assert_eq!(run.name(What::OnTemplate(3, Off::Left)), "template 2 at bend 3 left");
    }

    #[test]
    fn a_straight_tube_has_a_template_and_its_length() {
        let run = of(&[], FromEnd::Datum);
        assert_eq!((run.bends.len(), run.templates.len()), (0, 1));
        is(&run, What::EndToEnd(1), 85.0);
    }
}
