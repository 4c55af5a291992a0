//! Any text as a call sign: what is understood is written and read back the same, and its
//! parts make up the home call.
#![no_main]

use jumpseat_place::callsign;
use jumpseat_values::Doubt;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    callsign::can_begin(text.as_bytes());
    callsign::weigh(text.as_bytes());
    callsign::allocation(text);
    let Ok(parsed) = callsign::parse(text) else {
        return;
    };
    let Some(call) = &parsed.value else {
        panic!("{text} was taken for a call sign without being one");
    };
    assert_eq!(
        [call.prefix(), call.digits(), call.suffix()].concat(),
        call.home()
    );
    assert!(callsign::weigh(call.home().as_bytes()).is_some());
    call.place_allocation();
    assert_eq!(callsign::parse(&call.to_string()).as_ref(), Ok(&parsed));
    for doubt in &parsed.doubts {
        assert_eq!(Doubt::read(&doubt.to_string()), *doubt);
    }
});
