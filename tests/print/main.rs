//! The model against print: makers' tables, operating conditions, textbook formulas.

#[path = "../common/printed/mod.rs"]
mod printed;
#[path = "../common/solved.rs"]
mod solved;

mod circuits;
mod coupling;
mod formulas;
mod headroom;
mod instruments;
mod networks;
mod output_6v6gt;
mod output_el84;
mod supply;
