//! How the browser comes by the secret: by a file that only its owner reads, and once.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use jumpseat_test_kit as kit;
use jumpseat_test_kit::{TestProcess, wait_until};
use jumpseat_tests::parts::BrowserWindow;
use rustix::process::Signal;

use crate::home::{DEMO, ReviewedHome};
use crate::socket::PageVisitor;

/// How often the program is started and ended at once. One that took requests to end only once
/// it served left a file in about half of them.
const STARTS: usize = 20;

/// `jumpseat review` as a person starts it, whose browser only notes what it was given.
struct StartedReview {
    person: PathBuf,
    /// Where the browser notes it.
    given: PathBuf,
    /// Where its output goes.
    log: PathBuf,
    process: TestProcess,
}

impl StartedReview {
    fn start(home: &ReviewedHome, name: &str) -> Self {
        let at = |part: &str| home.at(part);
        let (person, given) = (at("person"), at(&format!("given-{name}")));
        fs::create_dir_all(at("tools")).unwrap();
        fs::create_dir_all(&person).unwrap();
        let opener = at("tools").join("xdg-open");
        let note = format!("#!/bin/sh\nprintf '%s\\n' \"$@\" . > {}\n", given.display());
        fs::write(&opener, note).unwrap();
        fs::set_permissions(&opener, fs::Permissions::from_mode(0o755)).unwrap();
        let path = std::env::var("PATH").unwrap();
        let mut command = Command::new(kit::built("jumpseat").unwrap());
        command
            .env("HOME", &person)
            .env("PATH", format!("{}:{path}", at("tools").display()))
            .arg("--home")
            .arg(home.path())
            .args(["review", DEMO]);
        let log = at(&format!("said-{name}"));
        let process = TestProcess::start(&command, &log).unwrap();
        Self {
            person,
            given,
            log,
            process,
        }
    }

    /// Ends it as a person or the system does; nothing may be left.
    fn end(mut self, signal: Signal) {
        self.process.signal(signal).unwrap();
        let status = self.process.end(Duration::from_secs(10)).unwrap();
        assert!(status.success(), "{status}");
        assert_eq!(left(&self.person), Vec::<PathBuf>::new());
    }
}

/// The same once it has started the browser.
struct StartedBrowser {
    review: StartedReview,
    /// What the browser was started with.
    given: Vec<String>,
    /// The link that was printed.
    printed: String,
}

impl StartedBrowser {
    fn start(home: &ReviewedHome, name: &str) -> Self {
        let review = StartedReview::start(home, name);
        let noted = || fs::read_to_string(&review.given).unwrap_or_default();
        let there = wait_until(Duration::from_secs(20), || noted().ends_with(".\n"));
        let said = fs::read_to_string(&review.log).unwrap();
        assert!(there, "no browser was started: {said}");
        let mut given: Vec<String> = noted().lines().map(str::to_owned).collect();
        given.pop();
        let mut lines = said.lines().map(str::trim);
        let printed = lines.find(|line| line.starts_with("http://")).unwrap();
        Self {
            given,
            printed: printed.to_owned(),
            review,
        }
    }

    fn file(&self) -> &Path {
        Path::new(&self.given[0])
    }

    /// The link in the file.
    fn link(&self) -> String {
        let text = fs::read_to_string(self.file()).unwrap();
        let after = text.split_once("content=\"0;url=").unwrap().1;
        after.split_once('"').unwrap().0.to_owned()
    }

    fn end(self, signal: Signal) {
        self.review.end(signal);
    }
}

/// A browser's side without the browser, and the path of a link.
fn visitor(link: &str) -> (PageVisitor, String) {
    let rest = link.strip_prefix("http://").unwrap();
    let (host, path) = rest.split_at(rest.find('/').unwrap());
    let visitor = PageVisitor {
        port: host.split_once(':').unwrap().1.parse().unwrap(),
        host: host.to_owned(),
        always: String::new(),
    };
    (visitor, path.to_owned())
}

fn left(person: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(person).unwrap();
    entries.map(|entry| entry.unwrap().path()).collect()
}

#[test]
fn no_program_is_started_with_a_secret_and_each_link_lets_one_browser_in() {
    let home = ReviewedHome::demo();
    let opened = StartedBrowser::start(&home, "one");
    let [given] = &opened.given[..] else {
        panic!("{:?}", opened.given);
    };
    let link = opened.link();
    let secret = |link: &str| link.split_once("/enter/").unwrap().1[..64].to_owned();
    assert!(!given.contains("enter") && !given.contains(&secret(&link)));
    assert_ne!(secret(&link), secret(&opened.printed));
    let rights = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(rights(opened.file()), 0o600);
    assert_eq!(rights(opened.file().parent().unwrap()), 0o700);
    // Where a browser in a sandbox can read it.
    assert_eq!(
        opened.file().parent().unwrap().parent(),
        Some(&*opened.review.person)
    );
    let folder = opened.file().parent().unwrap().file_name().unwrap();
    assert!(!folder.to_str().unwrap().starts_with('.'));

    for link in [&link, &opened.printed] {
        let (mut visitor, path) = visitor(link);
        // Who asks only whether it is there, or from elsewhere, does not use it up.
        assert_eq!(visitor.ask("HEAD", &path, "", "").status, 403);
        assert_eq!(visitor.post(&path, "x=1").status, 403);
        let entered = visitor.get(&path);
        assert_eq!(entered.status, 200);
        let cookie = entered.header("set-cookie").unwrap();
        for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(cookie.contains(part), "{cookie}");
        }
        assert!(!cookie.to_lowercase().contains("domain"), "{cookie}");
        assert!(!opened.file().exists(), "the file is there after its use");
        let again = visitor.get(&path);
        assert_eq!(again.status, 403);
        assert!(again.text().contains("used already"), "{}", again.text());
        assert!(again.header("set-cookie").is_none());
        visitor.always = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
        assert_eq!(visitor.get("/").status, 200);
        // Its own browser may open it again.
        assert_eq!(visitor.get(&path).status, 200);
    }
    opened.end(Signal::INT);
}

#[test]
fn the_file_goes_at_the_end_and_what_a_killed_run_left_at_the_next_start() {
    let home = ReviewedHome::demo();
    StartedBrowser::start(&home, "ctrl-c").end(Signal::INT);
    StartedBrowser::start(&home, "ended").end(Signal::TERM);
    let killed = StartedBrowser::start(&home, "killed");
    let file = killed.file().to_owned();
    drop(killed);
    assert!(file.exists());
    let first = StartedBrowser::start(&home, "first");
    assert!(
        !file.exists(),
        "a killed run's link is there after the next start"
    );
    // One that still goes on keeps its own.
    let second = StartedBrowser::start(&home, "second");
    assert!(first.file().exists() && second.file().exists());
    assert_eq!(left(&first.review.person).len(), 2);
    drop(first);
    second.review.process.signal(Signal::INT).unwrap();
}

#[test]
fn a_request_to_end_that_comes_while_the_file_is_written_leaves_nothing() {
    let home = ReviewedHome::demo();
    for (round, signal) in [Signal::INT, Signal::TERM]
        .repeat(STARTS / 2)
        .iter()
        .enumerate()
    {
        let review = StartedReview::start(&home, &format!("round-{round}"));
        let began = Instant::now();
        // Its folder is the first that is there. Any pause would give the program time to go on.
        while left(&review.person).is_empty() {
            assert!(began.elapsed() < Duration::from_secs(20), "no folder");
        }
        review.end(*signal);
    }
}

#[test]
fn chromium_comes_in_by_the_file() {
    let home = ReviewedHome::demo();
    let opened = StartedBrowser::start(&home, "chromium");
    let browser = home.browser(BrowserWindow::DESK);
    browser
        .go(&format!("file://{}", opened.file().display()))
        .unwrap();
    browser.arrive(&format!("/trip/{DEMO}")).unwrap();
    assert!(!opened.file().exists());
    // Another tab of it needs no link.
    browser.new_tab().unwrap();
    let (visitor, _) = visitor(&opened.printed);
    browser
        .go(&format!("http://{}/entry/1", visitor.host))
        .unwrap();
    browser.arrive("/entry/1").unwrap();
    // Another browser has the link that was printed.
    drop(browser);
    let other = home.browser(BrowserWindow::PHONE);
    other.go(&opened.printed).unwrap();
    other.arrive(&format!("/trip/{DEMO}")).unwrap();
    opened.end(Signal::INT);
}
