//! An SFTP server that sends whatever it likes: one row, one trick.
#![cfg(test)]

use std::io::Cursor;

use jumpseat_pull::{FetchEvent, FileRange, PullError, SftpSource, TripSource as _};

/// Kinds of packets (draft-ietf-secsh-filexfer-02).
const VERSION: u8 = 2;

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

/// Connects to a board whose server sends these packets.
fn connect(said: &[Vec<u8>]) -> Result<SftpSource<Cursor<Vec<u8>>, Vec<u8>>, PullError> {
    SftpSource::over("ssh://pull@board", Cursor::new(said.concat()), Vec::new())
}

/// Reads so many bytes of each file from a server that sends these packets. Returns what
/// arrived of each or why it failed, or the error that ended the fetch.
fn read_all(said: &[Vec<u8>], lengths: &[u64]) -> Result<Vec<Result<Vec<u8>, String>>, String> {
    let words = [vec![packet(VERSION, &number(3))], said.to_vec()];
    let mut board = connect(&words.concat()).map_err(|error| error.to_string())?;
    let mut files = vec![Ok(Vec::new()); lengths.len()];
    let wanted: Vec<FileRange> = lengths
        .iter()
        .map(|&length| FileRange {
            path: "file".into(),
            from: 0,
            length,
        })
        .collect();
    let mut newest = 0;
    let fetched = board.fetch(&wanted, &mut |number, got| {
        assert!(number >= newest, "files come in their order");
        newest = number;
        match (got, &mut files[number]) {
            (FetchEvent::Piece(piece), Ok(file)) => file.extend(piece),
            (FetchEvent::Failed(why), file) => *file = Err(why),
            (FetchEvent::Piece(_), Err(_)) => panic!("a piece of a file that failed"),
        }
        Ok(())
    });
    fetched.map_err(|error| error.to_string())?;
    Ok(files)
}

/// Reads 5 bytes of one file.
fn read(said: &[Vec<u8>]) -> Result<Vec<u8>, String> {
    read_all(said, &[5])?.remove(0)
}

#[track_caller]
fn check(said: &[Vec<u8>], expected: Result<&[u8], &str>) {
    match (read(said), expected) {
        (Ok(got), Ok(expected)) => assert_eq!(got, expected),
        (Err(error), Err(expected)) => assert!(error.contains(expected), "{error}"),
        (got, _) => panic!("{got:?} in place of {expected:?}"),
    }
}

fn open(id: u32) -> Vec<u8> {
    packet(102, &[&number(id)[..], &text(b"h")].concat())
}

fn data(id: u32, bytes: &[u8]) -> Vec<u8> {
    packet(103, &[&number(id)[..], &text(bytes)].concat())
}

fn status(id: u32, code: u32, words: &[u8]) -> Vec<u8> {
    let body = [&number(id)[..], &number(code), &text(words), &text(b"")];
    packet(101, &body.concat())
}

#[test]
fn a_file_that_the_server_refuses_fails_and_the_others_come() {
    // Three files of a piece and a half each; the openings have the numbers 0 to 2.
    let piece = 255 * 1024;
    let lengths = [piece + 2; 3];
    let whole = vec![b'x'; piece as usize];
    let check = |said: &[Vec<u8>], expected: [Result<u64, &str>; 3]| {
        let files = read_all(said, &lengths).unwrap();
        for (file, expected) in files.iter().zip(expected) {
            match (file, expected) {
                (Ok(file), Ok(length)) => assert_eq!(file.len() as u64, length),
                (Err(why), Err(expected)) => assert!(why.contains(expected), "{why}"),
                (file, expected) => panic!("{file:?} in place of {expected:?}"),
            }
        }
    };
    let long = Ok(piece + 2);
    let (first, third) = (
        [data(3, &whole), data(4, b"xx")],
        [data(5, &whole), data(6, b"xx")],
    );
    let denied = [open(0), status(1, 3, b"denied"), open(2)];
    // What is left of a file that failed is not waited for, and may come all the same.
    check(
        &[denied.to_vec(), first.to_vec(), third.to_vec()].concat(),
        [long, Err("denied"), long],
    );
    let opened = [open(0), open(1), open(2)];
    let failing = [status(5, 4, b"input/output error"), data(6, b"xx")];
    let last = [data(7, &whole), data(8, b"xx")];
    check(
        &[
            opened.to_vec(),
            first.to_vec(),
            failing.to_vec(),
            last.to_vec(),
        ]
        .concat(),
        [long, Err("input/output error"), long],
    );
    // A file that became shorter ends in mid-piece.
    let shorter = [
        data(5, &whole[..1000]),
        data(6, b"xx"),
        // The first file was closed under the number 9.
        status(10, 1, b"end of file"),
    ];
    check(
        &[
            opened.to_vec(),
            first.to_vec(),
            last.to_vec(),
            shorter.to_vec(),
        ]
        .concat(),
        [long, Err("end of file"), long],
    );
    // All of them, one after the other.
    let none = [status(0, 3, b"a"), status(1, 3, b"b"), status(2, 3, b"c")];
    check(&none, [Err("a"), Err("b"), Err("c")]);
}

#[test]
fn a_server_gives_what_was_asked_for_or_an_error() {
    let handle = || open(0);
    check(&[handle(), data(1, b"whole")], Ok(b"whole"));
    // A short answer: the rest is asked for under the next number.
    check(&[handle(), data(1, b"wh"), data(2, b"ole")], Ok(b"whole"));
    check(&[handle(), data(1, b"too much")], Err("wrong length"));
    check(&[handle(), data(1, b"")], Err("wrong length"));
    check(&[handle(), data(7, b"whole")], Err("no request"));
    check(
        &[handle(), status(1, 1, b"end of file")],
        Err("end of file"),
    );
    check(&[handle(), handle()], Err("no request"));
    check(&[handle(), packet(103, &number(1))], Err("malformed reply"));
    check(&[handle(), number(u32::MAX).to_vec()], Err("too long"));
    check(&[handle(), number(0).to_vec()], Err("malformed reply"));
    check(&[handle(), vec![0, 0]], Err("connection broke"));
    check(&[data(0, b"whole")], Err("wrong kind"));
    check(&[status(0, 3, b"denied")], Err("denied"));
    check(&[], Err("connection broke"));
}

#[test]
fn a_list_that_never_ends_is_an_error() {
    let words = [
        packet(VERSION, &number(3)),
        packet(102, &[&number(0)[..], &text(b"h")].concat()),
        packet(104, &[number(1), number(0)].concat()),
    ];
    let mut board = connect(&words).unwrap();
    let error = board.list("folder").unwrap_err().to_string();
    assert!(error.contains("neither continues nor ends"), "{error}");
}

#[test]
fn a_list_of_endless_names_is_an_error() {
    let name = |length: usize| {
        let name = [text(&vec![b'n'; length]), text(b""), number(0).to_vec()].concat();
        [&number(1)[..], &name].concat()
    };
    let names = |id: u32, length| packet(104, &[&number(id)[..], &name(length)].concat());
    let mut words = vec![packet(VERSION, &number(3)), open(0)];
    words.extend((1..200).map(|id| names(id, 250_000)));
    let mut board = connect(&words).unwrap();
    let error = board.list("folder").unwrap_err().to_string();
    assert!(error.contains("more names than any folder"), "{error}");
}

#[test]
fn an_old_version_and_no_version_are_errors() {
    for (said, expected) in [
        (packet(VERSION, &number(2)), "older than 3"),
        (packet(101, &number(3)), "did not start with a version"),
        (b"Welcome to this board\n".to_vec(), "too long"),
    ] {
        let error = connect(&[said]).err().unwrap();
        assert!(error.to_string().contains(expected), "{error}");
    }
}
