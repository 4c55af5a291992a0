//! `jumpseat review`.

use std::io::{self, IsTerminal as _};
use std::path::PathBuf;
use std::process::Stdio;
use std::sync::Arc;

use anyhow::{Context as _, Result};
use clap::Args;
use jumpseat_review::ReviewServer;
use serde::Serialize;

use crate::home::HomeFolder;
use crate::link_file::{self, LinkFile};
use crate::outcome::{CommandOutcome, error_message};
use crate::print;
use crate::review_home::ReviewHome;
use crate::system;

#[derive(Debug, Args)]
pub(crate) struct ReviewCommand {
    /// The trip to open first: its folder, name or number [default: the list of trips]
    trip: Option<String>,
    #[command(flatten)]
    options: ReviewOptions,
}

/// How the page is served.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Args)]
pub(crate) struct ReviewOptions {
    /// The port, which is reachable from this computer only [default: any free port]
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    pub(crate) port: u16,
    /// Print the link and open no browser
    #[arg(long)]
    pub(crate) no_open: bool,
    /// Print the link as JSON
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Serialize)]
struct ReviewLink<'a> {
    url: &'a str,
    port: u16,
}

impl ReviewCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let trip = self.trip.map(|word| home.trip_name(&word)).transpose()?;
        open(home, trip.as_deref(), self.options)
    }
}

/// Serves the page, opens it in the browser, and goes on until Ctrl-C. `trip` is the
/// name of the trip that is shown first.
pub(crate) fn open(
    home: &HomeFolder,
    trip: Option<&str>,
    options: ReviewOptions,
) -> Result<CommandOutcome> {
    let desk = Arc::new(ReviewHome::new(home.clone()));
    let server = ReviewServer::bind(desk, options.port)?;
    if let Some(trip) = trip {
        server.prepare(trip);
    }
    // Each link lets one browser in: this one is for the person, another for the browser
    // that is opened here.
    let mut link = String::new();
    server.link(trip, |printed| {
        printed.clone_into(&mut link);
        anyhow::Ok(())
    })?;
    if options.json {
        let port = server.port();
        print::json(&ReviewLink { url: &link, port })?;
    } else {
        print::line("The review page is at")?;
        print::line(&format!("  {link}"))?;
        print::line(
            "Keep the link to yourself: it lets one browser in, once. Run this again for another \
             one. Ctrl-C ends the page; every decision is saved at once.",
        )?;
    }
    if !options.no_open
        && let Err(error) = show(&server, trip)
        && io::stderr().is_terminal()
    {
        print::aside(&format!(
            "jumpseat: no browser could be opened ({}); open the link yourself",
            error_message(&error)
        ));
    }
    server.serve()?;
    Ok(CommandOutcome::Done)
}

/// Opens the page with the system's own opener. The secret stands in a file, because every
/// user of the computer sees with what a program was started.
fn show(server: &ReviewServer, trip: Option<&str>) -> Result<()> {
    let person = directories::UserDirs::new().context("your home folder is not known")?;
    let place = person.home_dir();
    if let Err(error) = link_file::clear(place) {
        print::aside(&format!("jumpseat: {}", error_message(&error)));
    }
    let mut path = PathBuf::new();
    server.link(trip, |link| {
        let file = LinkFile::write(place, link)?;
        path = file.path();
        anyhow::Ok(file)
    })?;
    let mut opener = system::opener();
    let quiet = opener
        .arg(path)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let mut child = quiet.spawn()?;
    // It ends when the browser has the page; nobody waits for it here.
    std::thread::spawn(move || child.wait());
    Ok(())
}
