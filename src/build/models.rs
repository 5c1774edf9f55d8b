//! STEP files.

use super::limits;
use super::work::{Files, Planned, Unmade, Work, one};
use crate::export::step;
use crate::tooling::form::Form;
use crate::tooling::jig::Jig;

/// All runs and components where the spec places them.
pub(super) fn assembly(work: &Work<'_>, path: &str) -> Files {
    if let Some(why) = limits::assembly(work.layout()) {
        return Err(Unmade::left_out(why));
    }
    one(path, step::assembly_file(work.layout(), &work.project.tubes, work.meta).map_err(Unmade::failed)?)
}

/// One run's tube.
pub(super) fn tube(work: &Work<'_>, run: Planned<'_>, path: &str) -> Files {
    one(path, step::tube_file(run.laid, &work.project.tubes, work.meta).map_err(Unmade::failed)?)
}

/// A form's pieces and its follower.
pub(super) fn form(work: &Work<'_>, form: &Form, path: &str) -> Files {
    one(path, step::form_file(form, work.meta).map_err(Unmade::failed)?)
}

/// A jig put together, with its tube.
pub(super) fn jig(work: &Work<'_>, jig: &Jig, path: &str) -> Files {
    one(path, step::jig_file(jig, work.layout(), &work.project.tubes, work.meta).map_err(Unmade::failed)?)
}
