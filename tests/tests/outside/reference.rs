//! Reference libraries, run in the interpreter that has them.

use std::io::Write as _;
use std::process::Stdio;

use jumpseat_test_kit::outside_script;

/// Runs a script of `tests/outside` in the interpreter with the reference
/// libraries; gives what it prints.
pub(crate) fn reference(script: &str, input: &str) -> String {
    let mut child = outside_script(script)
        .unwrap()
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()).unwrap());
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    assert!(output.status.success(), "{script} failed");
    String::from_utf8(output.stdout).unwrap()
}
