//! The solves: against a general circuit simulator, the processor that is heard against the plain
//! oracle, its robustness, and what the sound goes through behind the amp.

#[path = "../common/absent.rs"]
mod absent;
#[path = "../common/forbids_allocation.rs"]
mod forbids_allocation;
#[path = "../common/netlist.rs"]
mod netlist;
#[path = "../common/ngspice.rs"]
mod ngspice;
#[path = "../common/solved.rs"]
mod solved;
#[path = "../common/top.rs"]
mod top;

mod against_ngspice;
mod cabinet;
mod guitar;
mod realtime_accuracy;
mod realtime_allocations;
mod realtime_robustness;
mod stability;
mod stability_drawn;
mod transformer_core;
