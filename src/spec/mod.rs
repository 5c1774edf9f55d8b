//! A spec: YAML as typed → a checked model. Downstream code sees the model only.

pub mod model;
