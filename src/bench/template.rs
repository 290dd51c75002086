//! A table to write a bench run into.

use std::fmt::Write as _;

/// What is buried in the template's rows: invented targets, to be written over.
const ROWS: [&str; 6] = [
    "my set-up,worn coin,coin,5,flat,dry,43,44,43,,,,steady,1,yes,",
    "my set-up,worn coin,coin,15,flat,wet,42,45,43,44,,,jumpy,3,yes,",
    "my set-up,thin ring,gold_ring,5,edge,dry,12,12,13,,,,steady,1,yes,",
    "my set-up,bent nail,nail,5,flat,dry,-6,71,-5,-6,,,broken,2,no,a high number now and then",
    "my set-up,thin ring,gold_ring,25,edge,dry,,,,,,,,,,nothing heard",
    "my set-up,bare hole,,15,,dry,,,,,,,,,no,",
];

/// The table as comma-separated text: headings and rows of invented readings, one for each way in which a reading may
/// come out. Read back, it is a bench of six readings.
pub fn template() -> String {
    let mut text =
        String::from("setup,target,kind,depth_cm,lie,ground,ID1,ID2,ID3,ID4,ID5,ID6,steadiness,gauge_step,dig,notes\n");
    for row in ROWS {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{row}");
    }
    text
}
