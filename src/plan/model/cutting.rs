//! Which run is cut from which piece of stock. Lengths are mm.

use crate::spec::model::{StockForm, Straighten};

/// Which run is cut from which piece of stock; empty without `stock:` in the spec.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CutPlan {
    /// One for each tube of the spec that has stock, in the order of first use.
    pub stocks: Vec<StockPlan>,
}

/// How the runs of one tube are cut from its stock.
#[derive(Debug, Clone, PartialEq)]
pub struct StockPlan {
    /// The tube, as the shop would order it.
    pub tube: String,
    /// Outside diameter, mm.
    pub od: f64,
    /// Wall, mm.
    pub wall: f64,
    /// How it is sold.
    pub form: StockForm,
    /// Length of a new piece, mm.
    pub new_length: f64,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// What is cut off more for each piece, to be straightened.
    pub straighten: Straighten,
    /// New pieces there are; none for as many as needed.
    pub new_count: Option<usize>,
    /// The pieces that are cut, leftovers first.
    pub pieces: Vec<StockPiece>,
    /// New pieces that runs are cut from.
    pub new_used: usize,
    /// New pieces that test pieces alone are cut from.
    pub new_for_tests: usize,
    /// Longest rest in one piece, mm: of a piece that is cut, or of a leftover that is not begun.
    pub longest_rest: f64,
    /// The runs of no plan do with fewer new pieces than this.
    pub new_lower_bound: usize,
    /// Whether the plan is proven to be the best there is: as many runs as possible, of as much length as possible;
    /// from the fewest new pieces; with the longest rest in one piece; with the fewest leftovers begun, and of these
    /// the shortest. Test pieces come after that: they are cut from what the runs leave.
    pub proven: bool,
    /// Runs that the stock does not suffice for.
    pub missing: Vec<MissingPiece>,
    /// Test pieces that the stock does not suffice for.
    pub missing_tests: Vec<TestCut>,
}

/// A piece of stock and the runs cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct StockPiece {
    /// Number from 1, as written on the piece.
    pub number: usize,
    /// Whether it is left over from earlier.
    pub leftover: bool,
    /// Its length, mm.
    pub length: f64,
    /// The test pieces cut from it, in order from its first end.
    pub tests: Vec<TestCut>,
    /// The runs cut from it, in order behind the test pieces.
    pub cuts: Vec<Cut>,
    /// Length left over, mm.
    pub rest: f64,
}

/// One run's tube on a piece of stock, mm from the piece's first end.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// The run.
    pub run: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends; the next begins a kerf later.
    pub to: f64,
    /// Of that, tube beyond the run's cut length, cut off once it is straightened.
    pub straighten: f64,
    /// Of that, tube to trim away at the datum end.
    pub allowance_start: f64,
    /// Of that, tube to trim away at the other end.
    pub allowance_end: f64,
}

/// A test piece's tube on a piece of stock, mm from the piece's first end.
#[derive(Debug, Clone, PartialEq)]
pub struct TestCut {
    /// The bender that it is for.
    pub bender: String,
    /// The tube, as the shop would order it.
    pub tube: String,
    /// The bender's centreline radius as written, mm.
    pub clr: f64,
    /// Its number among the bender's test pieces, from 1.
    pub number: usize,
    /// Angle to pull it to, rad.
    pub pull: f64,
    /// Its length once it is straight, mm.
    pub length: f64,
    /// Where it begins.
    pub from: f64,
    /// Where it ends; the next begins a kerf later.
    pub to: f64,
}

/// A run there is no tube for.
#[derive(Debug, Clone, PartialEq)]
pub struct MissingPiece {
    /// The run.
    pub run: String,
    /// Its cut length, mm.
    pub length: f64,
}
