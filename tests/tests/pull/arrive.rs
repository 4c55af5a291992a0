//! The evening: from an empty library to the open page, in one go.

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use jumpseat_test_kit::{TestProcess, built, copy_folder, run, wait_until};
use rustix::process::Signal;

use crate::card;
use crate::server::Server;

const TRIP: &str = "trip-000001-3fa2c1";

/// Puts the demo's trip on the board.
fn demo_board() -> Server {
    let server = Server::start();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../host-tools/jumpseat/demo")
        .join(TRIP);
    copy_folder(&demo, &server.card().join(TRIP)).unwrap();
    server
}

/// An evening that looks at the board of station.toml; not started yet.
fn arriving(server: &Server, home: &Path, more: &[&str]) -> Command {
    fs::create_dir_all(home).unwrap();
    let card = server.card();
    let board = format!(
        "board = \"ssh://127.0.0.1:{}{}\"\n",
        server.port,
        card.display()
    );
    fs::write(home.join("station.toml"), board).unwrap();
    let mut command = Command::new(built("jumpseat").unwrap());
    command.arg("--home").arg(home).arg("arrive").args(more);
    command.arg("--ssh-config").arg(server.at("ssh.conf"));
    command
}

/// What a page of the review answers; `cookie` as it gave it before.
fn get(port: &str, path: &str, cookie: &str) -> String {
    let mut stream = TcpStream::connect(format!("127.0.0.1:{port}")).unwrap();
    let cookie = match cookie {
        "" => String::new(),
        cookie => format!("Cookie: {cookie}\r\n"),
    };
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{cookie}\r\n"
    )
    .unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    String::from_utf8_lossy(&answer).into_owned()
}

/// Fails unless the link leads to a page with the trip's entries.
#[track_caller]
fn shows_the_entries(link: &str) {
    let rest = link.strip_prefix("http://127.0.0.1:").unwrap();
    let (port, path) = rest.split_at(rest.find('/').unwrap());
    assert!(path.ends_with(&format!("?trip={TRIP}")), "{link}");
    let entered = get(port, path, "");
    let cookie = entered
        .lines()
        .find_map(|line| line.strip_prefix("set-cookie: "))
        .and_then(|cookie| cookie.split(';').next())
        .unwrap();
    let page = get(port, &format!("/trip/{TRIP}"), cookie);
    for expected in ["200 OK", "KB0QSE", "N0QRD"] {
        assert!(page.contains(expected), "no {expected} in {page}");
    }
    // Without the cookie nothing is shown.
    assert!(!get(port, &format!("/trip/{TRIP}"), "").contains("KB0QSE"));
}

#[test]
fn from_an_empty_library_to_the_open_page_in_one_go() {
    let server = demo_board();
    let home = server.at("home");
    // The system's opener, which notes what it is given.
    let (tools, opened) = (server.at("tools"), server.at("opened"));
    fs::create_dir(&tools).unwrap();
    let opener = tools.join("xdg-open");
    fs::write(
        &opener,
        format!("#!/bin/sh\necho \"$1\" > {}\n", opened.display()),
    )
    .unwrap();
    fs::set_permissions(&opener, fs::Permissions::from_mode(0o755)).unwrap();
    let path = std::env::var("PATH").unwrap();
    let mut command = arriving(&server, &home, &[]);
    command.env("PATH", format!("{}:{path}", tools.display()));
    let person = server.at("person");
    fs::create_dir(&person).unwrap();
    command.env("HOME", &person);
    let begun = Instant::now();
    let mut evening = TestProcess::start(&command, &server.at("said")).unwrap();
    let file = || fs::read_to_string(&opened).unwrap_or_default();
    let there = wait_until(Duration::from_secs(60), || file().ends_with('\n'));
    let said = fs::read_to_string(server.at("said")).unwrap();
    assert!(there, "no page was opened: {said}");
    let took = begun.elapsed();
    // What is opened is a file that leads to the page, and goes when it was used.
    let page = fs::read_to_string(file().trim()).unwrap();
    let link = page.split_once("content=\"0;url=").unwrap().1;
    shows_the_entries(link.split_once('"').unwrap().0);
    assert_eq!(fs::read_dir(&person).unwrap().count(), 0);
    card::same(&server.card(), &home.join("trips"));
    evening.signal(Signal::INT).unwrap();
    let status = evening.end(Duration::from_secs(10)).unwrap();
    assert!(status.success(), "{status} {said}");
    println!(
        "figure: pull: arrive: empty library to the open page of the demo drive in {:.1} s",
        took.as_secs_f64()
    );
}

#[test]
fn no_open_prints_the_link_and_opens_nothing() {
    let server = demo_board();
    let command = arriving(&server, &server.at("home"), &["--no-open"]);
    let mut evening = TestProcess::start(&command, &server.at("said")).unwrap();
    let said = || fs::read_to_string(server.at("said")).unwrap();
    let link = || {
        said()
            .lines()
            .find_map(|line| Some(line.trim().strip_prefix("http")?.to_owned()))
    };
    assert!(
        wait_until(Duration::from_secs(60), || link().is_some()),
        "{}",
        said()
    );
    shows_the_entries(&format!("http{}", link().unwrap()));
    evening.signal(Signal::INT).unwrap();
    assert!(evening.end(Duration::from_secs(10)).unwrap().success());
}

#[test]
fn unattended_it_ends_by_itself_and_goes_on_where_the_last_evening_was_broken_off() {
    let server = demo_board();
    let home = server.at("home");
    // As the systemd unit runs it, with Ctrl-C or a power-down in mid-draft.
    let mut command = arriving(&server, &home, &["--no-page"]);
    let quiet = command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let mut broken = quiet.spawn().unwrap();
    assert!(wait_until(Duration::from_secs(20), || home
        .join("trips")
        .join(TRIP)
        .exists()));
    broken.kill().unwrap();
    broken.wait().unwrap();
    // The board has gone to sleep: what is here is drafted all the same, and the
    // exit code says that the board was not reached.
    let mut gone = arriving(&server, &home, &["--no-page", "ssh://127.0.0.1:1"]);
    let output = run(&mut gone).unwrap();
    let (out, err) = (output.stdout, output.stderr);
    let (out, err) = (String::from_utf8_lossy(&out), String::from_utf8_lossy(&err));
    assert_eq!(output.status.code(), Some(1), "{out}{err}");
    assert!(
        err.contains("cannot reach 127.0.0.1") && out.contains("KB0QSE"),
        "{out}{err}"
    );
    let again = run(&mut arriving(&server, &home, &["--no-page"])).unwrap();
    let out = String::from_utf8_lossy(&again.stdout);
    assert_eq!(again.status.code(), Some(0), "{out}");
    assert!(out.contains("Nothing new to draft."), "{out}");
}
