//! The tables of cases, run on the host; `firmware/microcontroller` runs the same.

mod cases;

#[test]
fn the_state_machines_do_what_the_tables_say() {
    assert!(cases::all() >= 25);
}
