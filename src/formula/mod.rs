//! Every domain formula once: meaning, symbols with units, source, valid range, and one worked
//! number that is a test.

pub mod bend;
pub mod calibration;
pub mod flattening;
pub mod heat;
pub mod normal;
pub mod pressure;
pub mod seal;
pub mod section;
pub mod springback;
pub mod wall;
pub mod wrap;
