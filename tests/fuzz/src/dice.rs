//! Numbers from random bytes, rounded as people type them.

use arbitrary::Unstructured;

/// Random bytes as a source of numbers. When they are used up, every number is its least and every chance is missed.
pub struct Dice<'a>(Unstructured<'a>);

impl<'a> Dice<'a> {
    pub fn new(bytes: &'a [u8]) -> Self {
        Dice(Unstructured::new(bytes))
    }

    fn byte(&mut self) -> u8 {
        self.0.arbitrary().unwrap_or(0)
    }

    /// From 0 to 1.
    fn share(&mut self) -> f64 {
        f64::from(self.0.arbitrary::<u16>().unwrap_or(0)) / f64::from(u16::MAX)
    }

    /// From `low` to `high`, to two decimals.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        rounded(low + (high - low) * self.share())
    }

    /// From `low` to `high`, small numbers more often.
    pub fn small(&mut self, low: f64, high: f64) -> f64 {
        rounded(low + (high - low) * self.share().powi(3))
    }

    /// From 0 to `most`.
    pub fn count(&mut self, most: usize) -> usize {
        usize::from(self.byte()) % (most + 1)
    }

    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[usize::from(self.byte()) % choices.len()]
    }

    pub fn once_in(&mut self, times: u8) -> bool {
        self.byte() % times == times - 1
    }
}

fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
