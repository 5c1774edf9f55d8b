//! Writers: each turns finished geometry, drawings or plans into bytes and touches no
//! disk. Only [`bundle`] does: it puts finished files in place.

pub mod bundle;
pub mod csv;
mod date;
mod decimal;
pub mod dxf;
pub mod json;
pub mod mark;
pub mod pdf;
pub mod step;
pub mod stl;
pub mod svg;

/// Title, mark and time that a writer may add to the contents. No writer reads a clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meta {
    /// Title of the spec.
    pub title: String,
    /// The plan's mark; see [`mark::of`].
    pub mark: String,
    /// Seconds since 1970-01-01 UTC to stamp files with: `SOURCE_DATE_EPOCH`, or 0.
    pub timestamp: u64,
}

/// A finished file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Artifact {
    /// Path below the output folder, `/`-separated.
    pub path: String,
    /// Contents.
    pub bytes: Vec<u8>,
}
