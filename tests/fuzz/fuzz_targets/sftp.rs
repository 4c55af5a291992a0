//! A server that answers any bytes, as they are and as packets whose lengths and numbers are
//! right, which gets behind the framing: what is fetched has the length that was asked for,
//! and a write or a list ends. The home tool is a program and no library, so its files are
//! taken in here.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    pull::sftp::check(bytes);
    pull::sftp::check(&framed(bytes));
});

/// The first byte of each piece says how long it is, the second what kind of packet; each
/// answers one request after the other, or another one if the third byte says so.
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

#[path = "."]
mod pull {
    use std::time::Duration;

    #[path = "../../../host-tools/jumpseat/src/pull/source.rs"]
    pub(crate) mod source;

    pub(crate) const LEASE_EVERY: Duration = Duration::from_secs(20);

    #[path = "."]
    pub(crate) mod sftp {
        use std::io::Cursor;

        use super::source::Wanted;

        #[path = "../../../host-tools/jumpseat/src/pull/sftp/fetch.rs"]
        mod fetch;
        #[path = "../../../host-tools/jumpseat/src/pull/sftp/packet.rs"]
        mod packet;
        #[path = "../../../host-tools/jumpseat/src/pull/sftp/session.rs"]
        mod session;

        /// A session with a server that greets well and then says these bytes.
        fn session(said: &[u8]) -> session::Session<Cursor<Vec<u8>>, Vec<u8>> {
            let hello = [0, 0, 0, 5, 2, 0, 0, 0, 3];
            let words = [&hello[..], said].concat();
            session::Session::begin(Cursor::new(words), Vec::new()).expect("a good greeting")
        }

        pub(crate) fn check(said: &[u8]) {
            // Errors are what such a server earns.
            let _ = session::Session::begin(Cursor::new(said.to_vec()), Vec::new()).map(drop);
            let _ = session(said).real_path("a");
            let _ = session(said).stat("a");
            if let Ok(names) = session(said).list("a") {
                assert!(names.iter().all(|(name, _)| name != b"." && name != b".."));
            }
            let _ = session(said).write("a", b"some words");
            let _ = session(said).rename("a", "b");
            let _ = session(said).hold("a");
            let wanted = [(0, 5), (7, 0), (3, 600)].map(|(from, length)| Wanted {
                path: "a".into(),
                from,
                length,
            });
            let mut got = [0_u64; 3];
            let fetched = fetch::fetch(&mut session(said), &wanted, &mut |file, piece| {
                got[file] += piece.len() as u64;
                Ok(())
            });
            for (got, wanted) in got.iter().zip(&wanted) {
                assert!(*got <= wanted.length);
                assert!(fetched.is_err() || *got == wanted.length);
            }
        }
    }
}
