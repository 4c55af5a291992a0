//! `jumpseat review`.

use std::io::IsTerminal as _;
use std::process::Stdio;
use std::sync::Arc;

use anyhow::Result;
use clap::Args;
use jumpseat_review::Server;
use serde::Serialize;

use crate::desk::HomeDesk;
use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::system;

#[derive(Debug, Args)]
pub(crate) struct Review {
    /// The trip to begin with: its folder, name or number [default: the list of all]
    trip: Option<String>,
    #[command(flatten)]
    options: Options,
}

/// How the page is served.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Args)]
pub(crate) struct Options {
    /// The port of this computer, reached from this computer only [default: any free one]
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    pub(crate) port: u16,
    /// Prints the link and opens no browser
    #[arg(long)]
    pub(crate) no_open: bool,
    /// Prints the link as JSON
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Serialize)]
struct Link<'a> {
    url: &'a str,
    port: u16,
}

impl Review {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let trip = self.trip.map(|word| home.trip_name(&word)).transpose()?;
        open(home, trip.as_deref(), self.options)
    }
}

/// Serves the page, opens it in the browser, and goes on until Ctrl-C. `trip` is the
/// name of the trip that is shown first.
pub(crate) fn open(home: &Home, trip: Option<&str>, options: Options) -> Result<Outcome> {
    let desk = Arc::new(HomeDesk::new(home.clone()));
    let server = Server::bind(desk, options.port)?;
    if let Some(trip) = trip {
        server.prepare(trip);
    }
    let link = server.link(trip);
    if options.json {
        let port = server.port();
        print::json(&Link { url: &link, port })?;
    } else {
        print::line("The review page is at")?;
        print::line(&format!("  {link}"))?;
        print::line("The link is for you alone. Ctrl-C ends it; every decision is kept at once.")?;
    }
    if !options.no_open && !show(&link) && std::io::stderr().is_terminal() {
        print::aside("jumpseat: no browser could be opened; open the link yourself");
    }
    server.serve()?;
    Ok(Outcome::Done)
}

/// Opens a link with the system's own opener; false when there is none.
fn show(link: &str) -> bool {
    let mut opener = system::opener();
    let quiet = opener
        .arg(link)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    match quiet.spawn() {
        Ok(mut child) => {
            // It ends when the browser has the link; nobody waits for it here.
            std::thread::spawn(move || child.wait());
            true
        }
        Err(_) => false,
    }
}
