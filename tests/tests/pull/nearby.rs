//! Boards found by multicast DNS, by a real responder (Avahi) with the service
//! file that the board's package installs.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use crate::card;
use crate::server::Server;
use jumpseat_test_kit::{TestProcess, built, run, wait_until};

/// Where Avahi looks for services; it cannot be told another place.
const SERVICES: &str = "/etc/avahi/services";

/// A responder for the host `name`.local that announces our service at a port;
/// ends, and takes the service away, with the value.
struct Responder {
    _daemon: TestProcess,
    service: String,
}

impl Responder {
    /// None where this may not be tried: only root starts Avahi, and only once.
    fn start(server: &Server, name: &str) -> Option<Self> {
        let shipped =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../firmware/package/jumpseat.avahi");
        let text = fs::read_to_string(shipped).unwrap();
        let port = format!("<port>{}</port>", server.port);
        assert!(text.contains("<port>22</port>"));
        let service = format!("{SERVICES}/{name}.service");
        let running = Path::new("/run/avahi-daemon/pid").exists();
        if running || fs::write(&service, text.replace("<port>22</port>", &port)).is_err() {
            return None;
        }
        let config = format!(
            "[server]\nhost-name={name}\nenable-dbus=no\nuse-ipv6=no\ndisallow-other-stacks=no\n\
             [publish]\npublish-workstation=no\n"
        );
        fs::write(server.at("avahi.conf"), config).unwrap();
        let mut command = Command::new("/usr/sbin/avahi-daemon");
        command.args([
            "--no-chroot",
            "--no-drop-root",
            "--no-rlimits",
            "--debug",
            "-f",
        ]);
        let log = server.at("avahi.log");
        let daemon = TestProcess::start(command.arg(server.at("avahi.conf")), &log).unwrap();
        let said = || fs::read_to_string(&log).unwrap();
        let up = wait_until(Duration::from_secs(15), || {
            said().contains("successfully established")
        });
        assert!(up, "{}", said());
        Some(Self {
            _daemon: daemon,
            service,
        })
    }
}

impl Drop for Responder {
    fn drop(&mut self) {
        fs::remove_file(&self.service).unwrap();
    }
}

#[test]
fn a_board_is_found_by_its_name_and_without_one() {
    let server = Server::listening("0.0.0.0");
    card::trip(&server.card(), 1, &[50_000]);
    let name = format!("jumpseat-{}", std::process::id());
    let Some(_responder) = Responder::start(&server, &name) else {
        println!("figure: pull: boards by multicast DNS: not tried, Avahi runs or needs root");
        return;
    };
    let pull = |home: &str| {
        let mut command = Command::new(built("jumpseat").unwrap());
        command.arg("--home").arg(server.at(home)).arg("pull");
        let output = run(command.arg("--ssh-config").arg(server.at("ssh.conf"))).unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        (said, output.status.code())
    };
    // By its name, which the system's own resolver does not know.
    let home = server.at("home");
    fs::create_dir(&home).unwrap();
    let card = server.card();
    let board = format!(
        "board = \"ssh://{name}.local:{}{}\"\n",
        server.port,
        card.display()
    );
    fs::write(home.join("station.toml"), board).unwrap();
    let (said, code) = pull("home");
    assert_eq!(code, Some(0), "{said}");
    card::same(&card, &home.join("trips"));
    // Without any: the service says where, and the package's account is asked for.
    let (said, code) = pull("nothing");
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains(&format!("{name}.local")) && said.contains("your key"),
        "{said}"
    );
    println!("figure: pull: a board announced by Avahi found by name and without one");
}
