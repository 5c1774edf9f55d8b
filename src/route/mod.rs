//! The ways that a rigid tube can go from one port to another: the best few, and how sure it is that they are.
//!
//! A way is a sequence of straight legs along directions of a small set. For one sequence the lengths of the legs
//! are a linear programme: they add up to the way from end to end, and each has room for its bends, for the
//! fitting's straight and for the bender's grip. The search takes the most promising sequence first; where its best
//! lengths come too near to something, it branches on the planes that would keep that part of the tube clear of that
//! body. The first way that is clear is the best there is along these directions and planes; its lengths are then solved
//! again with the planes that really part it from what is near.

mod answer;
mod barrier;
mod beside;
mod changes;
mod directions;
mod findings;
mod free;
mod merit;
mod probe;
mod problem;
mod programme;
mod roots;
mod search;
mod shape;
mod stage;
mod tighten;
mod together;

#[cfg(test)]
mod tests;

pub use answer::{Answer, Asked, Proof, Way};
pub use problem::{Ends, Leave, Problem, Wishes};
pub use search::search;
pub use stage::{EFFORT, Found, Routed, find_ways};
