//! How runs meet ports and clear each other.
