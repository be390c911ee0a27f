//! What each part is for, from parts and nodes alone.
//!
//! Takes a checked circuit; gives a [`Topology`]: rails, valves in signal order with what surrounds
//! them, stages, feedback, and a [`Role`] for every part. Neither values nor a file's own words
//! (`stage`, `role`, designators, names of nodes) are read: the same circuit with other names, or
//! with its parts in another order, has the same topology. What is not recognised is
//! [`Role::Unknown`].

mod feedback;
mod find;
mod graph;
mod grid_roles;
mod inverters;
mod names;
mod order;
mod pots;
mod rail_roles;
mod rails;
mod roles;
mod sections;
mod stages;
mod tone;
mod types;

pub use types::{
    FeedbackPath, InverterKind, OutputKind, Rail, Recognised, Role, Section, Stage, StageKind,
    Topology,
};
