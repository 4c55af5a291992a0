//! A server that answers any bytes, as they are and as packets whose lengths and numbers are
//! right, which gets behind the framing: what is fetched has the length that was asked for,
//! and a write or a listing ends.
#![no_main]

use std::io::Cursor;

use jumpseat_pull::{FetchEvent, FileRange, SftpSource, TripSource as _};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    check(bytes);
    check(&framed(bytes));
});

/// The first byte of each piece is its length, the second the kind of packet. Each packet
/// answers the next request, or another one if the third byte says so.
fn framed(mut bytes: &[u8]) -> Vec<u8> {
    let mut said = Vec::new();
    let mut id = 0_u32;
    while let [length, kind, other, rest @ ..] = bytes {
        let (body, rest) = rest.split_at(usize::from(*length).min(rest.len()));
        said.extend((body.len() as u32 + 5).to_be_bytes());
        said.push(*kind);
        said.extend(id.wrapping_add(u32::from(other % 4)).to_be_bytes());
        said.extend(body);
        id += 1;
        bytes = rest;
    }
    said
}

type Board = SftpSource<Cursor<Vec<u8>>, Vec<u8>>;

/// A board whose server sends a good version and then these bytes.
fn board(said: &[u8]) -> Board {
    let hello = [0, 0, 0, 5, 2, 0, 0, 0, 3];
    connect([&hello[..], said].concat()).expect("a good version")
}

fn connect(said: Vec<u8>) -> Result<Board, jumpseat_pull::PullError> {
    SftpSource::over("ssh://pull@board/trips", Cursor::new(said), Vec::new())
}

fn check(said: &[u8]) {
    // Such a server deserves errors.
    let _ = connect(said.to_vec()).map(drop);
    let _ = board(said).own_name();
    let _ = board(said).metadata("a");
    if let Ok(entries) = board(said).list("a") {
        let names = entries.iter().filter_map(|entry| entry.name.as_deref());
        assert!(names.into_iter().all(|name| name != "." && name != ".."));
    }
    let _ = board(said).write("receipts/a", b"some words");
    let _ = board(said).hold_lease("a");
    let wanted = [(0, 5), (7, 0), (3, 600)].map(|(from, length)| FileRange {
        path: "a".into(),
        from,
        length,
    });
    let (mut got, mut failed) = ([0_u64; 3], [false; 3]);
    let fetched = board(said).fetch(&wanted, &mut |file, event| {
        match event {
            FetchEvent::Piece(piece) => got[file] += piece.len() as u64,
            FetchEvent::Failed(_) => failed[file] = true,
        }
        Ok(())
    });
    for (index, range) in wanted.iter().enumerate() {
        assert!(got[index] <= range.length);
        assert!(fetched.is_err() || failed[index] || got[index] == range.length);
    }
}
