//! Exact solids of tubes and components, and their meshes.
