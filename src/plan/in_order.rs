//! A run's bends in the order they are made.

use super::model::{BendPlan, Marks, RunPlan};

/// A bend with all that depends on the end that bending begins at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderedBend<'p> {
    /// What does not depend on it.
    pub bend: &'p BendPlan,
    /// Where it lies and where its mark is, from that end.
    pub marks: &'p Marks,
    /// Where its inside lies, degrees clockwise seen from that end; the inside of the first bend made is at 0.
    pub inside_clock_deg: f64,
    /// From where to where it is annealed, mm from that end of the cut tube; none where it is not.
    pub anneal_mm: Option<(f64, f64)>,
}

impl RunPlan {
    /// Whether the run is best bent from its other end. Where both ends are as good, or neither will do, bending
    /// begins at the datum end.
    pub fn begins_at_other_end(&self) -> bool {
        self.order.better == "other end"
    }

    /// Its bends in the order they are made, from the datum end or from the other one.
    pub fn in_order(&self, from_other_end: bool) -> Vec<OrderedBend<'_>> {
        let zone = |bend: &BendPlan| bend.anneal_from_mm.zip(bend.anneal_to_mm);
        if !from_other_end {
            let ordered = |bend| OrderedBend {
                bend,
                marks: &bend.marks,
                inside_clock_deg: bend.inside_clock_deg,
                anneal_mm: zone(bend),
            };
            return self.bends.iter().map(ordered).collect();
        }
        let turned = |(from, to)| (self.cut_length_mm - to, self.cut_length_mm - from);
        let twins = self.from_other_end.iter().filter_map(|twin| {
            let bend = self.bends.iter().find(|bend| bend.number == twin.number)?;
            Some(OrderedBend {
                bend,
                marks: &twin.marks,
                inside_clock_deg: twin.inside_clock_deg,
                anneal_mm: zone(bend).map(turned),
            })
        });
        twins.collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::fit::check;
    use crate::fit::fixture::{layout, table_run};
    use crate::plan::plan;
    use crate::spec::model::Anneal;

    #[test]
    fn both_orders_have_the_same_bends_and_zones() {
        let mut laid = table_run("t", 40.0, &[(60.0, 0.0, 90.0), (80.0, 90.0, 45.0)], 70.0);
        laid.run.anneal = Anneal::Always;
        let layout = layout(vec![laid], vec![]);
        let (plan, _) = plan(&layout, &check(&layout).0);
        let run = &plan.runs[0];
        let numbers = |other| run.in_order(other).iter().map(|made| made.bend.number).collect::<Vec<_>>();
        assert_eq!((numbers(false), numbers(true)), (vec![1, 2], vec![2, 1]));
        // 60 + 62.832 + 80 + 31.416 + 70 mm; 15 mm of tube on either side of a bend: bend 2 lies at 202.832 to
        // 234.248 from the datum end, 70 to 101.416 from the other.
        let zone = |other, index: usize| run.in_order(other)[index].anneal_mm.unwrap();
        for ((from, to), wanted) in [
            (zone(false, 1), (187.832, 249.248)),
            (zone(true, 0), (55.0, 116.416)),
            (zone(true, 1), (166.416, 259.248)),
        ] {
            assert!((from - wanted.0).abs() < 1e-3 && (to - wanted.1).abs() < 1e-3, "{from} {to} {wanted:?}");
        }
        // The clock starts at the bend that is made first.
        assert!(run.in_order(true)[0].inside_clock_deg == 0.0);
    }
}
