//! What to do about an amp: changes, ratings, readings, spread, prices, the job sheet.

#[path = "../common/printed/mod.rs"]
mod printed;
#[path = "../common/sheet.rs"]
mod sheet;
#[path = "../common/solved.rs"]
mod solved;
#[path = "../common/whole_amp.rs"]
mod whole_amp;

mod changes;
mod changes_fixture;
mod changes_loudspeaker;
mod changes_plan;
mod directions;
mod directions_told;
mod job_sheet;
mod job_sheet_cases;
mod job_sheet_schematic;
mod measured;
mod prices;
mod ratings_amps;
mod ratings_discharge;
mod ratings_fixture;
mod ratings_formulas;
mod ratings_print;
mod readings;
mod readings_fixture;
mod spread;
