//! A server that answers whatever it likes: a row a trick.

use std::io::Cursor;

use super::fetch::fetch;
use super::packet;
use super::session::Session;
use crate::pull::source::Wanted;

/// A packet with its length before it.
fn packet(kind: u8, body: &[u8]) -> Vec<u8> {
    let length = (body.len() + 1) as u32;
    [&length.to_be_bytes()[..], &[kind], body].concat()
}

fn text(text: &[u8]) -> Vec<u8> {
    [&(text.len() as u32).to_be_bytes()[..], text].concat()
}

fn number(number: u32) -> [u8; 4] {
    number.to_be_bytes()
}

/// Reads 5 bytes of a file from a server that says these packets; what came, or
/// the error.
fn read(said: &[Vec<u8>]) -> Result<Vec<u8>, String> {
    let words = [vec![packet(packet::VERSION, &number(3))], said.to_vec()];
    let words = words.concat().concat();
    let mut session = Session::begin(Cursor::new(words), Vec::new()).map_err(|e| e.to_string())?;
    let mut got = Vec::new();
    let wanted = Wanted {
        path: "file".into(),
        from: 0,
        length: 5,
    };
    fetch(&mut session, &[wanted], &mut |_, piece| {
        got.extend(piece);
        Ok(())
    })
    .map_err(|(_, error)| error.to_string())?;
    Ok(got)
}

#[track_caller]
fn check(said: &[Vec<u8>], expected: Result<&[u8], &str>) {
    match (read(said), expected) {
        (Ok(got), Ok(expected)) => assert_eq!(got, expected),
        (Err(error), Err(expected)) => assert!(error.contains(expected), "{error}"),
        (got, _) => panic!("{got:?} in place of {expected:?}"),
    }
}

#[test]
fn a_server_gives_what_was_asked_for_or_an_error() {
    let handle = || packet(102, &[&number(0)[..], &text(b"h")].concat());
    let data = |id: u32, bytes: &[u8]| packet(103, &[&number(id)[..], &text(bytes)].concat());
    let status = |id: u32, code: u32, words: &[u8]| {
        let body = [&number(id)[..], &number(code), &text(words), &text(b"")];
        packet(101, &body.concat())
    };
    check(&[handle(), data(1, b"whole")], Ok(b"whole"));
    // A short answer: the rest is asked for under the next number.
    check(&[handle(), data(1, b"wh"), data(2, b"ole")], Ok(b"whole"));
    check(&[handle(), data(1, b"too much")], Err("another length"));
    check(&[handle(), data(1, b"")], Err("another length"));
    check(&[handle(), data(7, b"whole")], Err("nothing asked"));
    check(
        &[handle(), status(1, 1, b"end of file")],
        Err("end of file"),
    );
    check(&[handle(), handle()], Err("nothing asked"));
    check(&[handle(), packet(103, &number(1))], Err("no known form"));
    check(&[handle(), number(u32::MAX).to_vec()], Err("too long"));
    check(&[handle(), number(0).to_vec()], Err("no known form"));
    check(&[handle(), vec![0, 0]], Err("connection broke"));
    check(&[data(0, b"whole")], Err("something else"));
    check(&[status(0, 3, b"denied")], Err("denied"));
    check(&[], Err("connection broke"));
}

#[test]
fn a_list_that_never_ends_is_an_error() {
    let words = [
        packet(packet::VERSION, &number(3)),
        packet(102, &[&number(0)[..], &text(b"h")].concat()),
        packet(104, &[number(1), number(0)].concat()),
    ];
    let mut session = Session::begin(Cursor::new(words.concat()), Vec::new()).unwrap();
    let error = session.list("folder").unwrap_err().to_string();
    assert!(error.contains("neither goes on nor ends"), "{error}");
}

#[test]
fn an_old_version_and_none_are_told() {
    for (said, expected) in [
        (packet(packet::VERSION, &number(2)), "older than 3"),
        (packet(101, &number(3)), "no version"),
        (b"Welcome to this board\n".to_vec(), "too long"),
    ] {
        let error = Session::begin(Cursor::new(said), Vec::new()).err().unwrap();
        assert!(error.to_string().contains(expected), "{error}");
    }
}
