//! A run that is not to be cut: what its page says instead of a length.

use crate::drawing::item::Role;
use crate::drawing::numbers::sentence;
use crate::drawing::page::flow::{BIG, BODY, Flow, Ink, PageBlock};
use crate::plan::RunPlan;

/// The words in place of a length to cut.
pub(super) const DO_NOT_CUT: &str = "do not cut";

/// Adds the frame at the head of a run's pages, with the reasons; nothing where the run may be cut.
pub(super) fn stop(flow: &mut Flow, plan: &RunPlan) {
    if plan.may_be_cut() {
        return;
    }
    let (mut ink, inside) = (Ink::new(), flow.wide - 6.0);
    let mut down = 2.4;
    ink.words(3.0, down, BIG, true, &DO_NOT_CUT.to_uppercase());
    down += BIG + 3.0;
    for reason in &plan.do_not_cut {
        down = ink.wrapped(3.0, down, BODY, true, inside, &sentence(reason)) + 0.4;
    }
    let then = "The first page says what to change. Change it in the spec, and work from the sheet that is printed then.";
    down = ink.wrapped(3.0, down, BODY, false, inside, then);
    ink.frame(Role::Trim, 0.0, 0.0, flow.wide, down);
    ink.frame(Role::Trim, 0.8, 0.8, flow.wide - 0.8, down - 0.8);
    flow.add(PageBlock::new(ink, down + 1.6));
}
