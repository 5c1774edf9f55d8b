//! The cut plan as `plan.json` has it.

use serde::Serialize;

use crate::plan::{Cut, CutPlan, MissingPiece, StockPiece, StockPlan, TestCut};

/// Pieces of stock, and the lengths that are cut off them.
#[derive(Serialize)]
pub(super) struct CutPlanData<'a> {
    stocks: Vec<StockData<'a>>,
}

#[derive(Serialize)]
struct StockData<'a> {
    tube: &'a str,
    od_mm: f64,
    wall_mm: f64,
    form: &'static str,
    new_length_mm: f64,
    kerf_mm: f64,
    new_count: Option<usize>,
    pieces: Vec<PieceData<'a>>,
    new_used: usize,
    new_for_tests: usize,
    new_lower_bound: usize,
    longest_rest_mm: f64,
    proven: bool,
    missing: Vec<MissingData<'a>>,
    missing_tests: Vec<MissingTestData<'a>>,
}

#[derive(Serialize)]
struct PieceData<'a> {
    number: usize,
    leftover: bool,
    length_mm: f64,
    tests: Vec<TestData<'a>>,
    cuts: Vec<CutData<'a>>,
    rest_mm: f64,
}

#[derive(Serialize)]
struct CutData<'a> {
    run: &'a str,
    from_mm: f64,
    to_mm: f64,
    straighten_mm: f64,
    allowance_start_mm: f64,
    allowance_end_mm: f64,
}

#[derive(Serialize)]
struct TestData<'a> {
    bender: &'a str,
    clr_mm: f64,
    number: usize,
    pull_to_deg: f64,
    length_mm: f64,
    from_mm: f64,
    to_mm: f64,
}

#[derive(Serialize)]
struct MissingTestData<'a> {
    bender: &'a str,
    clr_mm: f64,
    number: usize,
    pull_to_deg: f64,
    length_mm: f64,
}

#[derive(Serialize)]
struct MissingData<'a> {
    run: &'a str,
    length_mm: f64,
}

impl<'a> CutPlanData<'a> {
    pub(super) fn new(cut_plan: &'a CutPlan) -> Self {
        CutPlanData { stocks: cut_plan.stocks.iter().map(StockData::new).collect() }
    }
}

impl<'a> StockData<'a> {
    fn new(stock: &'a StockPlan) -> Self {
        let missing = |piece: &'a MissingPiece| MissingData { run: &piece.run, length_mm: piece.length };
        StockData {
            tube: &stock.tube,
            od_mm: stock.od,
            wall_mm: stock.wall,
            form: stock.form.name(),
            new_length_mm: stock.new_length,
            kerf_mm: stock.kerf,
            new_count: stock.new_count,
            pieces: stock.pieces.iter().map(piece).collect(),
            new_used: stock.new_used,
            new_for_tests: stock.new_for_tests,
            new_lower_bound: stock.new_lower_bound,
            longest_rest_mm: stock.longest_rest,
            proven: stock.proven,
            missing: stock.missing.iter().map(missing).collect(),
            missing_tests: stock.missing_tests.iter().map(missing_test).collect(),
        }
    }
}

fn missing_test(test: &TestCut) -> MissingTestData<'_> {
    MissingTestData {
        bender: &test.bender,
        clr_mm: test.clr,
        number: test.number,
        pull_to_deg: test.pull.to_degrees(),
        length_mm: test.length,
    }
}

fn test(test: &TestCut) -> TestData<'_> {
    TestData {
        bender: &test.bender,
        clr_mm: test.clr,
        number: test.number,
        pull_to_deg: test.pull.to_degrees(),
        length_mm: test.length,
        from_mm: test.from,
        to_mm: test.to,
    }
}

fn piece(piece: &StockPiece) -> PieceData<'_> {
    PieceData {
        number: piece.number,
        leftover: piece.leftover,
        length_mm: piece.length,
        tests: piece.tests.iter().map(test).collect(),
        cuts: piece.cuts.iter().map(cut).collect(),
        rest_mm: piece.rest,
    }
}

fn cut(cut: &Cut) -> CutData<'_> {
    CutData {
        run: &cut.run,
        from_mm: cut.from,
        to_mm: cut.to,
        straighten_mm: cut.straighten,
        allowance_start_mm: cut.allowance_start,
        allowance_end_mm: cut.allowance_end,
    }
}
