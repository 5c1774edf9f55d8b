//! Tube sizes, materials, minimum radii: data tables with their sources.
