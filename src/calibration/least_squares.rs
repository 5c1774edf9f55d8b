//! A fit of two constants, linear in both, by least squares; either may be held.

/// One reading: a·x₀ + b·x₁ = y, give or take `sigma`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    /// Factors of the two constants.
    pub(super) x: [f64; 2],
    /// The value read.
    pub(super) y: f64,
    /// How far a reading like it is off, in units of y.
    pub(super) sigma: f64,
}

/// Which constants are fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Free {
    /// Both.
    Both,
    /// The second; the first has this value.
    Second(f64),
}

/// The constants that fit best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Solution {
    pub(super) values: [f64; 2],
    /// Their covariance if readings are off by `sigma`.
    covariance: [[f64; 2]; 2],
    /// How many times `sigma` the readings scatter, squared; none if there are as many constants.
    scatter: Option<f64>,
}

impl Solution {
    /// Variance of a quantity with these slopes in the two constants, if readings are off by `sigma`.
    pub(super) fn variance(&self, slope: [f64; 2]) -> f64 {
        let [[aa, ab], [_, bb]] = self.covariance;
        slope[0] * slope[0] * aa + 2.0 * slope[0] * slope[1] * ab + slope[1] * slope[1] * bb
    }

    /// The same if readings are off by as much as these scatter.
    pub(super) fn variance_by_scatter(&self, slope: [f64; 2]) -> Option<f64> {
        Some(self.variance(slope) * self.scatter?)
    }
}

/// Residuals of readings, in units of y: measured less fitted.
pub(super) fn residual(row: &Row, values: [f64; 2]) -> f64 {
    row.y - row.x[0] * values[0] - row.x[1] * values[1]
}

/// Sum of squares of the readings' distances from a fit, each in units of its `sigma`.
pub(super) fn misfit(rows: &[Row], values: [f64; 2]) -> f64 {
    rows.iter().map(|row| (residual(row, values) / row.sigma).powi(2)).sum()
}

/// Fits the free constants; none where the rows do not determine them.
///
/// The columns are made square to each other first (Gram and Schmidt), which keeps the digits that the
/// normal equations would lose where they are nearly the same.
pub(super) fn solve(rows: &[Row], free: Free) -> Option<Solution> {
    let column = |index: usize| rows.iter().map(move |row| row.x[index] / row.sigma);
    let second: Vec<f64> = column(1).collect();
    let second_squared = dot(&second, &second);
    let (values, covariance, unknowns) = match free {
        Free::Second(first) => {
            let left: Vec<f64> = rows.iter().map(|row| (row.y - first * row.x[0]) / row.sigma).collect();
            let value = dot(&second, &left) / second_squared;
            ([first, value], [[0.0, 0.0], [0.0, 1.0 / second_squared]], 1)
        }
        Free::Both => {
            let first: Vec<f64> = column(0).collect();
            let read: Vec<f64> = rows.iter().map(|row| row.y / row.sigma).collect();
            let shared = dot(&second, &first) / second_squared;
            let rest: Vec<f64> = first.iter().zip(&second).map(|(f, s)| f - shared * s).collect();
            let rest_squared = dot(&rest, &rest);
            let a = dot(&rest, &read) / rest_squared;
            let left: Vec<f64> = read.iter().zip(&first).map(|(y, f)| y - a * f).collect();
            let b = dot(&second, &left) / second_squared;
            let aa = 1.0 / rest_squared;
            let bb = 1.0 / second_squared + shared * shared * aa;
            ([a, b], [[aa, -shared * aa], [-shared * aa, bb]], 2)
        }
    };
    let sound = values.iter().chain(covariance.iter().flatten()).all(|number| number.is_finite());
    let spare = rows.len().checked_sub(unknowns)?;
    let scatter = (spare > 0).then(|| misfit(rows, values) / spare as f64);
    sound.then_some(Solution { values, covariance, scatter })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y = 2 + 3x through five points, two of them off by ±1.
    fn rows(offs: [f64; 5]) -> Vec<Row> {
        let at = [1.0, 2.0, 3.0, 4.0, 5.0];
        at.iter().zip(offs).map(|(x, off)| Row { x: [1.0, *x], y: 2.0 + 3.0 * x + off, sigma: 1.0 }).collect()
    }

    #[test]
    fn an_exact_line_comes_back_exactly_and_scatters_by_nothing() {
        let solution = solve(&rows([0.0; 5]), Free::Both).unwrap();
        assert!((solution.values[0] - 2.0).abs() < 1e-12 && (solution.values[1] - 3.0).abs() < 1e-12);
        assert!(solution.variance_by_scatter([1.0, 0.0]).unwrap() < 1e-20);
    }

    /// Straight line through (x, y), any statistics text: var(slope) = s²/Σ(x − x̄)², var(intercept) =
    /// s²·(1/n + x̄²/Σ(x − x̄)²); here Σ(x − x̄)² = 10, x̄ = 3.
    #[test]
    fn standard_errors_are_those_of_the_textbook() {
        let solution = solve(&rows([1.0, -1.0, 0.0, 0.0, 0.0]), Free::Both).unwrap();
        // Normal equations by hand: slope 3 + (−2·1 − 1·(−1))/10 = 2.9, intercept 2 + 0 + 0.1·3 = 2.3.
        assert!((solution.values[0] - 2.3).abs() < 1e-12 && (solution.values[1] - 2.9).abs() < 1e-12);
        // Residuals 0.8, −1.1, 0, 0.1, 0.2: 0.64 + 1.21 + 0 + 0.01 + 0.04 = 1.9, over 3.
        let s2 = 1.9 / 3.0;
        assert!((solution.variance_by_scatter([0.0, 1.0]).unwrap() - s2 / 10.0).abs() < 1e-12);
        assert!((solution.variance_by_scatter([1.0, 0.0]).unwrap() - s2 * (0.2 + 0.9)).abs() < 1e-12);
        assert!((solution.variance([0.0, 1.0]) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn what_is_held_stays_and_what_is_not_there_is_not_found() {
        let solution = solve(&rows([0.0; 5]), Free::Second(2.0)).unwrap();
        assert!((solution.values[1] - 3.0).abs() < 1e-12 && solution.values[0] == 2.0);
        let same = vec![Row { x: [1.0, 2.0], y: 1.0, sigma: 1.0 }; 3];
        assert_eq!(solve(&same, Free::Both), None);
        assert_eq!(solve(&[], Free::Second(0.0)), None);
    }
}
