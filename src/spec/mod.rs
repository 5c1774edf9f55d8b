//! A spec: YAML as typed → a checked model. Downstream code sees the model only.
//!
//! `node` turns text into a tree with places; `keys` says once which keys there are and what they
//! hold; `fields` and `values` read mappings and values of those kinds; `read/` has one file per part
//! of the format; `syntax` explains text that is no YAML; `schema` writes the same tables as a JSON
//! Schema.

pub mod edit;
mod fields;
mod keys;
pub mod model;
mod named;
mod names;
mod node;
mod read;
pub mod readings;
mod schema;
mod stl;
mod syntax;
#[cfg(test)]
mod tests;
mod values;
mod words;

pub use named::{Resolver, no_files};
pub(crate) use read::{FURTHEST_PULL, USUAL_CLRS};
pub use schema::{readings_schema, schema};

use std::sync::Arc;

use crate::diagnostic::Diagnostics;
use model::Spec;

/// A commented spec to start from; it builds.
pub const STARTER: &str = include_str!("starter/mm.yaml");
/// The same in inches, with inch tube.
pub const STARTER_INCHES: &str = include_str!("starter/in.yaml");
/// A commented spec that begins with what the tubes must reach; it builds.
pub const STARTER_PORTS: &str = include_str!("starter/ports-mm.yaml");
/// The same in inches, with inch tube.
pub const STARTER_PORTS_INCHES: &str = include_str!("starter/ports-in.yaml");

/// The part of a spec that could be read, and the findings.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The components and runs all of whose keys and values are sound.
    pub spec: Spec,
    /// Every finding, in the order of the file.
    pub findings: Diagnostics,
    /// Keys of the spec itself with errors below them: what they say is in part the default.
    pub broken: Vec<&'static str>,
    /// The contents of the files that it names, in its order.
    pub files: Vec<Arc<[u8]>>,
    /// Names of all runs, those with errors included, in the order of the file.
    pub run_names: Vec<String>,
}

/// Reads a spec that names no files. `file_name` (with or without folders) names the spec and its output.
///
/// # Errors
/// Everything that is wrong with the text, all at once, warnings included.
pub fn read(text: &str, file_name: &str) -> Result<(Spec, Diagnostics), Diagnostics> {
    let Reading { spec, findings, .. } = read_partly(text, file_name);
    if findings.has_errors() { Err(findings) } else { Ok((spec, findings)) }
}

/// Reads what can be read of a spec: runs with errors are left out, so that the others can still be
/// laid out and *their* faults reported together with these.
pub fn read_partly(text: &str, file_name: &str) -> Reading {
    read_with(text, file_name, &no_files)
}

/// The same of a spec that may name files, which `resolver` gives.
pub fn read_with(text: &str, file_name: &str, resolver: &Resolver<'_>) -> Reading {
    match node::parse(text) {
        Ok(root) => read::document(root.as_ref(), file_name, resolver),
        Err(diagnostic) => read::unreadable(*diagnostic, file_name),
    }
}
