//! Host keys: a new one is shown and asked for once, a changed one is refused,
//! and without a terminal nothing is believed.

use std::fs;
use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::card;
use crate::server::Server;
use jumpseat_test_kit::run;

fn server() -> Server {
    let server = Server::start();
    card::trip(&server.card(), 1, &[50_000]);
    server
}

/// The fingerprint of the server's key, as ssh-keygen prints it.
fn fingerprint(server: &Server) -> String {
    let mut command = Command::new("ssh-keygen");
    let printed = run(command.arg("-lf").arg(server.at("host.pub")))
        .unwrap()
        .stdout;
    let printed = String::from_utf8(printed).unwrap();
    printed.split(' ').nth(1).unwrap().to_owned()
}

/// Pulls in a terminal (script of util-linux makes one) and gives the answer when
/// it is asked for a host key; what the terminal showed, and the exit code.
fn pull_in_a_terminal(server: &Server, home: &Path, answer: &str) -> (String, Option<i32>) {
    let pulling = server.pulling(server.port, home);
    let words: Vec<String> = std::iter::once(pulling.get_program())
        .chain(pulling.get_args())
        .map(|word| word.to_str().unwrap().to_owned())
        .collect();
    let mut terminal = Command::new("script")
        .args(["-qefc", &words.join(" "), "/dev/null"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let (mut to, mut from) = (
        terminal.stdin.take().unwrap(),
        terminal.stdout.take().unwrap(),
    );
    let (mut shown, mut asked) = (Vec::new(), false);
    let mut buffer = [0; 4096];
    while let Ok(count @ 1..) = from.read(&mut buffer) {
        shown.extend_from_slice(&buffer[..count]);
        if !asked && String::from_utf8_lossy(&shown).contains("(yes/no") {
            asked = true;
            to.write_all(format!("{answer}\n").as_bytes()).unwrap();
        }
    }
    let code = terminal.wait().unwrap().code();
    (String::from_utf8_lossy(&shown).into_owned(), code)
}

#[test]
fn a_new_host_key_is_shown_and_asked_for_once() {
    let server = server();
    let known = server.at("known");
    fs::write(&known, "").unwrap();
    let (shown, code) = pull_in_a_terminal(&server, &server.at("refused"), "no");
    assert_eq!(code, Some(1), "{shown}");
    assert!(shown.contains(&fingerprint(&server)), "{shown}");
    assert!(
        !server
            .at("refused/trips")
            .join("trip-000001-3fa2c1")
            .exists()
    );
    assert_eq!(fs::read_to_string(&known).unwrap(), "");

    let home = server.at("home");
    let (shown, code) = pull_in_a_terminal(&server, &home, "yes");
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains(&fingerprint(&server)), "{shown}");
    card::same(&server.card(), &home.join("trips"));
    // Now it is known: nothing is asked, with a terminal or without.
    let (shown, code) = pull_in_a_terminal(&server, &server.at("second"), "no");
    assert_eq!(code, Some(0), "{shown}");
    assert!(!shown.contains("yes/no"), "{shown}");
    assert_eq!(
        server.pull(server.port, &server.at("third")).status.code(),
        Some(0)
    );
}

/// What a pull without a terminal says when this is known of the server.
#[track_caller]
fn check_refused(known: &str, says: &[&str]) {
    let server = server();
    fs::write(server.at("known"), known).unwrap();
    let output = server.pull(server.port, &server.at("home"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    for says in says {
        assert!(said.contains(says), "no {says} in {said}");
    }
    assert_eq!(fs::read_to_string(server.at("known")).unwrap(), known);
    assert!(!server.at("home/trips").exists());
}

#[test]
fn without_a_terminal_an_unknown_key_is_refused_with_what_to_do() {
    check_refused(
        "",
        &[
            "host key is not known",
            "Pull once in a terminal",
            "ssh-keygen -lf",
        ],
    );
}

#[test]
fn a_changed_key_is_refused_with_what_to_do() {
    // The key of another board.
    let other = fs::read_to_string(Server::start().at("host.pub")).unwrap();
    let says = ["host key has changed", "ssh-keygen -R '[127.0.0.1]:"];
    check_refused(&format!("* {other}"), &says);
}

#[test]
fn a_server_that_wants_a_password_is_told_and_nothing_is_asked() {
    let server = server();
    fs::write(server.at("user.pub"), "").unwrap();
    let (shown, code) = pull_in_a_terminal(&server, &server.at("home"), "");
    assert_eq!(code, Some(1), "{shown}");
    assert!(shown.contains("does not accept your key"), "{shown}");
    assert!(!shown.to_lowercase().contains("password:"), "{shown}");
}
