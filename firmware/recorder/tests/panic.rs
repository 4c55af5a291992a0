//! A panic in any thread ends the process, so that the service manager restarts it.

use std::env;
use std::os::unix::process::ExitStatusExt;
use std::process::Command;
use std::thread;
use std::time::Duration;

use jumpseat_recorder::crash;

const CHILD: &str = "JUMPSEAT_TEST_CHILD";
/// signal(7).
const SIGABRT: i32 = 6;

#[test]
fn a_panic_in_any_thread_ends_the_process() {
    if env::var_os(CHILD).is_some() {
        crash::end_on_panic();
        let thread = thread::spawn(|| panic!("this thread is broken"));
        let _never = thread.join();
        thread::sleep(Duration::from_secs(60));
        return;
    }
    let name = "a_panic_in_any_thread_ends_the_process";
    let output = Command::new(env::current_exe().unwrap())
        .args([name, "--exact", "--nocapture"])
        .env(CHILD, "1")
        .output()
        .unwrap();
    assert_eq!(output.status.signal(), Some(SIGABRT), "{output:?}");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("this thread is broken"), "{said}");
}
