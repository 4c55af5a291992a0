//! How fast a pull is beside OpenSSH's own client, in the same run.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use crate::card;
use crate::proxy::{Fate, Link};
use crate::server::Server;

/// Of OpenSSH's rate. A busy machine is no reason to fail; far less than what is
/// wanted is.
const LEAST: f64 = 0.25;

/// Pulls and fetches by turns, and prints the median of each.
#[track_caller]
fn compare(what: &str, lengths: &[usize], delay: Duration, turns: usize) {
    let server = Server::start();
    let bytes = card::trip(&server.card(), 1, lengths);
    let link = Link::to(server.port, Fate::Whole, delay);
    // Straight to the server where the link needs no delay.
    let port = if delay.is_zero() {
        server.port
    } else {
        link.port
    };
    let (home, folder) = (server.at("home"), server.at("folder"));
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for _ in 0..turns {
        ours.push(time(&home, || {
            let output = server.pull(port, &home);
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(0), "{said}");
        }));
        theirs.push(time(&folder, || server.sftp(port, &folder)));
    }
    let (ours, theirs) = (median(ours), median(theirs));
    let ratio = theirs.as_secs_f64() / ours.as_secs_f64();
    let rate = |took: Duration| bytes as f64 / 1e6 / took.as_secs_f64();
    println!(
        "figure: pull: {what}: {:.1} MB/s verified, OpenSSH's sftp {:.1} MB/s unverified: ratio {ratio:.2} (0.90 wanted)",
        rate(ours),
        rate(theirs)
    );
    assert!(ratio > LEAST, "{what}: only {ratio:.2} of OpenSSH's rate");
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

/// How long it takes into a new folder, which vanishes.
fn time(folder: &Path, work: impl FnOnce()) -> Duration {
    fs::create_dir_all(folder).unwrap();
    let begun = Instant::now();
    work();
    let took = begun.elapsed();
    fs::remove_dir_all(folder).unwrap();
    took
}

#[test]
fn a_pull_is_about_as_fast_as_openssh() {
    compare("240 MB in long files", &[9_600_044; 25], Duration::ZERO, 5);
    compare("500 short files", &[40_044; 500], Duration::ZERO, 5);
    let way = Duration::from_millis(10);
    compare(
        "20 ms there and back, 20 short files",
        &[40_044; 20],
        way,
        3,
    );
    compare("20 ms there and back, 29 MB", &[9_600_044; 3], way, 3);
}
