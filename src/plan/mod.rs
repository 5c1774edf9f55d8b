//! What the bench does: lengths, stations, marks.
