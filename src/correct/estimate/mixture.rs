//! Sums of independent errors, each of which is narrow or, by chance, broad.
//!
//! Readings r are linear in unknowns u: r = H·u. The unknowns are the deviations of what the bench sets and the errors of
//! the readings themselves, so H = \[J 1\]. Unknown k is normal about nothing, of variance v_k: narrow, or with a small
//! probability broad (a slip, or a wrong reading). With S = Σ v_k·h_k·h_kᵀ, Q = Hᵀ·S⁻¹·H and q = Hᵀ·S⁻¹·r
//!
//! * the mean of unknown k is v_k·q_k, the covariance of k and l is v_k·δ_kl − v_k·Q_kl·v_l;
//! * the readings' density is exp(−½·rᵀ·S⁻¹·r)/√det 2πS;
//! * if v_k grows by Δ, then with f = Δ/(1 + Δ·Q_kk) Q loses f·Q_·k·Q_k·, q loses f·q_k·Q_·k, and the logarithm of the
//!   density gains ½·f·q_k² − ½·ln(1 + Δ·Q_kk).
//!
//! (The matrix inversion lemma: Sherman and Morrison, Annals of Mathematical Statistics 21, 1950; its determinant.)
//! Q and q are all that is needed, so every change of one variance costs as many steps as Q has places.

/// A change that moves Q by less than this part is none.
const NOTHING: f64 = 1e-12;

/// An unknown.
#[derive(Debug, Clone)]
pub(super) struct Unknown {
    /// How each reading changes with it.
    pub(super) column: Vec<f64>,
    /// Its variance where nothing is wrong.
    pub(super) narrow: f64,
    /// Its variance where it slipped, or was read wrong.
    pub(super) broad: f64,
    /// The probability of that beforehand.
    pub(super) chance: f64,
}

impl Unknown {
    fn logit(&self) -> f64 {
        (self.chance / (1.0 - self.chance)).ln()
    }
}

/// Unknowns beside the readings: the deviations, then the readings' own errors.
#[derive(Debug, Clone)]
pub(super) struct Problem {
    pub(super) unknowns: Vec<Unknown>,
    /// The number of them that are deviations.
    pub(super) deviations: usize,
    /// The readings, less what is there without deviations.
    pub(super) read: Vec<f64>,
}

/// Everything that follows where it is known which unknowns are broad.
#[derive(Debug, Clone)]
pub(super) struct Fit<'p> {
    of: &'p Problem,
    pub(super) is_broad: Vec<bool>,
    variance: Vec<f64>,
    /// Q, row by row.
    square: Vec<f64>,
    /// q.
    pull: Vec<f64>,
    /// Logarithm of the readings' density and of the chance that these unknowns are broad, but for constants.
    pub(super) evidence: f64,
}

impl<'p> Fit<'p> {
    /// With these unknowns broad.
    pub(super) fn new(of: &'p Problem, is_broad: &[bool]) -> Self {
        let (count, deviations) = (of.unknowns.len(), of.deviations);
        let broad = |index: usize| is_broad.get(index).copied().unwrap_or(false);
        // Without deviations S is the readings' own variances.
        let own: Vec<f64> = of.unknowns.iter().skip(deviations).map(|unknown| unknown.narrow).collect();
        let product = |a: &[f64], b: &[f64]| -> f64 {
            a.iter().zip(b).zip(&own).map(|((a, b), variance)| a * b / variance).sum()
        };
        // The column of a reading's own error is one in one place.
        let at_reading = |unknown: &Unknown, reading: usize| {
            let (cell, variance) = (unknown.column.get(reading), own.get(reading));
            cell.zip(variance).map_or(0.0, |(cell, variance)| cell / variance)
        };
        let mut square = Vec::with_capacity(count * count);
        for (row, a) in of.unknowns.iter().enumerate() {
            square.extend(of.unknowns.iter().enumerate().map(|(column, b)| {
                match (row.checked_sub(deviations), column.checked_sub(deviations)) {
                    (_, Some(reading)) => at_reading(a, reading),
                    (Some(reading), None) => at_reading(b, reading),
                    (None, None) => product(&a.column, &b.column),
                }
            }));
        }
        let pull = of.unknowns.iter().map(|unknown| product(&unknown.column, &of.read)).collect();
        let lost: f64 = own.iter().map(|variance| variance.ln()).sum::<f64>() + product(&of.read, &of.read);
        let variance =
            of.unknowns.iter().enumerate().map(|(at, of)| if at < deviations { 0.0 } else { of.narrow });
        let mut fit = Fit {
            of,
            is_broad: vec![false; count],
            variance: variance.collect(),
            square,
            pull,
            evidence: -0.5 * lost,
        };
        for (index, unknown) in of.unknowns.iter().enumerate() {
            if index < deviations {
                fit.widen(index, unknown.narrow);
            }
            if broad(index) {
                fit.flip(index);
            }
        }
        fit
    }

    fn at(&self, row: usize, column: usize) -> f64 {
        self.square.get(row * self.pull.len() + column).copied().unwrap_or(0.0)
    }

    /// Makes an unknown's variance larger, or smaller where negative.
    fn widen(&mut self, index: usize, by: f64) {
        let count = self.pull.len();
        let own = self.at(index, index);
        if let Some(variance) = self.variance.get_mut(index) {
            *variance = (*variance + by).max(0.0);
        }
        // No reading tells of it; or rounding left nothing of it.
        if (by * own).abs() < NOTHING || by * own <= -1.0 {
            return;
        }
        let (factor, pull) = (by / (1.0 + by * own), self.pull.get(index).copied().unwrap_or(0.0));
        self.evidence += 0.5 * factor * pull * pull - 0.5 * (by * own).ln_1p();
        let row: Vec<f64> = self.square.get(index * count..(index + 1) * count).unwrap_or_default().to_vec();
        for (line, left) in self.square.chunks_exact_mut(count).zip(&row) {
            let left = factor * left;
            // Readings of one bend tell nothing of most others.
            if left == 0.0 {
                continue;
            }
            line.iter_mut().zip(&row).for_each(|(cell, right)| *cell -= left * right);
        }
        self.pull.iter_mut().zip(&row).for_each(|(cell, right)| *cell -= factor * pull * right);
    }

    /// How much the variance of an unknown changes when it is flipped.
    fn change(&self, index: usize) -> Option<(f64, f64)> {
        let (unknown, broad) = (self.of.unknowns.get(index)?, *self.is_broad.get(index)?);
        let (wider, more) = (unknown.broad - unknown.narrow, unknown.logit());
        Some(if broad { (-wider, -more) } else { (wider, more) })
    }

    /// Makes a narrow unknown broad, or a broad one narrow.
    pub(super) fn flip(&mut self, index: usize) {
        let Some((by, prior)) = self.change(index) else { return };
        self.widen(index, by);
        self.evidence += prior;
        if let Some(broad) = self.is_broad.get_mut(index) {
            *broad = !*broad;
        }
    }

    /// What the evidence gains where an unknown is flipped.
    pub(super) fn gain(&self, index: usize) -> f64 {
        let Some((by, prior)) = self.change(index) else { return f64::NEG_INFINITY };
        let grown = by * self.at(index, index);
        if grown <= -1.0 {
            return f64::NEG_INFINITY;
        }
        let pull = self.pull.get(index).copied().unwrap_or(0.0);
        prior + 0.5 * by / (1.0 + grown) * pull * pull - 0.5 * grown.ln_1p()
    }

    /// What the evidence gains where two are flipped.
    pub(super) fn gain_of_two(&self, a: usize, b: usize) -> f64 {
        let (Some((by_a, prior_a)), Some((by_b, prior_b))) = (self.change(a), self.change(b)) else {
            return f64::NEG_INFINITY;
        };
        let (aa, bb, ab) = (self.at(a, a), self.at(b, b), self.at(a, b));
        let pull = |index: usize| self.pull.get(index).copied().unwrap_or(0.0);
        let (pull_a, pull_b) = (pull(a), pull(b));
        // (Δ⁻¹ + Q)⁻¹ over both, multiplied out so that a change of nothing divides by nothing.
        let (first, second) = (1.0 + by_a * aa, 1.0 + by_b * bb);
        let grown = first * second - by_a * by_b * ab * ab;
        if grown <= 0.0 {
            return f64::NEG_INFINITY;
        }
        let quad = by_a * second * pull_a * pull_a + by_b * first * pull_b * pull_b
            - 2.0 * by_a * by_b * ab * pull_a * pull_b;
        prior_a + prior_b + 0.5 * quad / grown - 0.5 * grown.ln()
    }

    /// The mean of each deviation.
    pub(super) fn means(&self) -> Vec<f64> {
        self.variance.iter().zip(&self.pull).take(self.of.deviations).map(|(v, q)| v * q).collect()
    }

    /// The covariance of the deviations, row by row.
    pub(super) fn covariance(&self) -> Vec<f64> {
        let count = self.of.deviations;
        let mut all = Vec::with_capacity(count * count);
        for (row, of_row) in self.variance.iter().take(count).enumerate() {
            all.extend(self.variance.iter().take(count).enumerate().map(|(column, of_column)| {
                let own = if row == column { *of_row } else { 0.0 };
                own - of_row * self.at(row, column) * of_column
            }));
        }
        all
    }

    /// Flips ones and twos while that makes the readings likelier. It ends because each flip does, and no set of broad
    /// unknowns comes twice; `most` bounds the work.
    pub(super) fn climb(&mut self, most: usize) {
        /// Gains below this are rounding.
        const LEAST: f64 = 1e-9;
        let count = self.pull.len();
        for _ in 0..most {
            let ones: Vec<f64> = (0..count).map(|index| self.gain(index)).collect();
            let one = (0..count).map(|index| (ones.get(index).copied().unwrap_or(f64::NEG_INFINITY), index));
            let Some((gain, index)) = one.max_by(|a, b| a.0.total_cmp(&b.0)) else { return };
            if gain > LEAST {
                self.flip(index);
                continue;
            }
            let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
            let two = pairs.map(|(a, b)| (self.gain_of_two(a, b), a, b)).max_by(|x, y| x.0.total_cmp(&y.0));
            match two {
                Some((gain, a, b)) if gain > LEAST => {
                    self.flip(a);
                    self.flip(b);
                }
                _ => return,
            }
        }
    }
}
