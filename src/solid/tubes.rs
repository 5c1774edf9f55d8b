//! The solids of a layout's tubes, each made and checked once for all the files it is in.

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::{Solid, SolidFault, verify};
use crate::centreline::{LaidRun, Layout};

/// Solids are kept until the runs have this many bends together, so that very large specs do not fill the memory;
/// those of the others are made again for each file.
const MOST_BENDS_KEPT: usize = 1_000;

/// Checked solids of tubes, where the spec places the runs.
#[derive(Debug, Clone, Default)]
pub struct Tubes {
    /// By the run's position in the spec.
    kept: BTreeMap<usize, Arc<Solid>>,
}

impl Tubes {
    /// Makes and checks the solid of every run of a layout. A run without one has its fault by its position in the spec.
    pub fn of(layout: &Layout) -> (Tubes, BTreeMap<usize, SolidFault>) {
        let mut bends = 0;
        let counted = layout.runs.iter().map(|laid| {
            bends += laid.centreline.bends().len();
            (laid, bends <= MOST_BENDS_KEPT)
        });
        let counted: Vec<(&LaidRun, bool)> = counted.collect();
        let make = |(laid, is_kept): (&LaidRun, bool)| {
            let made = checked(laid).map(|solid| is_kept.then(|| Arc::new(solid)));
            (laid.index, made)
        };
        let made: Vec<_> = counted.into_par_iter().map(make).collect();
        let (mut tubes, mut faults) = (Tubes::default(), BTreeMap::new());
        for (index, made) in made {
            match made {
                Ok(solid) => tubes.kept.extend(solid.map(|solid| (index, solid))),
                Err(fault) => drop(faults.insert(index, fault)),
            }
        }
        (tubes, faults)
    }

    /// The solid of a run.
    ///
    /// # Errors
    /// See [`super::tube()`].
    pub fn get(&self, laid: &LaidRun) -> Result<Arc<Solid>, SolidFault> {
        match self.kept.get(&laid.index) {
            Some(solid) => Ok(Arc::clone(solid)),
            // Checked when the layout was read; a fault would have dropped the run.
            None => super::tube(&laid.centreline, &laid.run.tube).map(Arc::new),
        }
    }
}

fn checked(laid: &LaidRun) -> Result<Solid, SolidFault> {
    verify::tube(&laid.centreline, &laid.run.tube)
}
