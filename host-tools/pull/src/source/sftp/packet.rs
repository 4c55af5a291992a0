//! Packets of the SSH file transfer protocol, version 3
//! (draft-ietf-secsh-filexfer-02): requests and replies.

/// The longest packet that a reply to our requests needs: 255 KiB of data and a header.
pub(super) const MAX_PACKET_BYTES: u32 = 256 * 1024;

pub(super) const INIT: u8 = 1;
pub(super) const VERSION: u8 = 2;
pub(super) const OPEN: u8 = 3;
pub(super) const CLOSE: u8 = 4;
pub(super) const READ: u8 = 5;
pub(super) const WRITE: u8 = 6;
pub(super) const LSTAT: u8 = 7;
pub(super) const OPENDIR: u8 = 11;
pub(super) const READDIR: u8 = 12;
pub(super) const REMOVE: u8 = 13;
pub(super) const MKDIR: u8 = 14;
pub(super) const REALPATH: u8 = 16;
pub(super) const STAT: u8 = 17;
pub(super) const RENAME: u8 = 18;
pub(super) const EXTENDED: u8 = 200;

/// Characters of a status text that are shown; a server may send far more.
const MAX_STATUS_CHARS: usize = 200;

/// Status codes.
pub(super) const OK: u32 = 0;
pub(super) const EOF: u32 = 1;
pub(super) const NO_SUCH_FILE: u32 = 2;

/// A request while it is built; its length is filled in at the end.
pub(super) struct SftpRequest(Vec<u8>);

impl SftpRequest {
    pub(super) fn new(kind: u8, id: u32) -> Self {
        Self(vec![0, 0, 0, 0, kind]).number(id)
    }

    pub(super) fn number(mut self, number: u32) -> Self {
        self.0.extend_from_slice(&number.to_be_bytes());
        self
    }

    pub(super) fn long(mut self, number: u64) -> Self {
        self.0.extend_from_slice(&number.to_be_bytes());
        self
    }

    /// Paths, handles and data are ours or the server's own, so far below 4 GiB.
    pub(super) fn bytes(self, bytes: &[u8]) -> Self {
        let mut request = self.number(bytes.len() as u32);
        request.0.extend_from_slice(bytes);
        request
    }

    pub(super) fn finish(mut self) -> Vec<u8> {
        let length = (self.0.len() - 4) as u32;
        self.0[..4].copy_from_slice(&length.to_be_bytes());
        self.0
    }
}

/// What a server says about a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct SftpAttributes {
    pub(super) bytes: Option<u64>,
    /// As in stat(2): the kind of file and its permissions.
    pub(super) mode: Option<u32>,
    /// Seconds since 1970.
    pub(super) modified: Option<u32>,
}

/// A reply. Only its form is checked.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum SftpReply {
    Status { code: u32, text: String },
    Handle(Vec<u8>),
    Data(Vec<u8>),
    Names(Vec<(Vec<u8>, SftpAttributes)>),
    Attributes(SftpAttributes),
}

/// The number of the request and the reply to it; `None` when the packet is malformed.
pub(super) fn parse_reply(packet: &[u8]) -> Option<(u32, SftpReply)> {
    let mut rest = PacketReader(packet);
    let kind = rest.byte()?;
    let id = rest.number()?;
    let reply = match kind {
        101 => SftpReply::Status {
            code: rest.number()?,
            // The first servers of version 3 left the text out.
            text: String::from_utf8_lossy(rest.bytes().unwrap_or_default())
                .chars()
                .take(MAX_STATUS_CHARS)
                .collect(),
        },
        102 => SftpReply::Handle(rest.bytes()?.to_vec()),
        DATA => SftpReply::Data(rest.bytes()?.to_vec()),
        104 => {
            let mut names = Vec::new();
            for _ in 0..rest.number()? {
                let name = rest.bytes()?.to_vec();
                rest.bytes()?;
                names.push((name, rest.attributes()?));
            }
            SftpReply::Names(names)
        }
        105 => SftpReply::Attributes(rest.attributes()?),
        _ => return None,
    };
    Some((id, reply))
}

/// Bytes before the data in a data reply.
pub(super) const DATA_HEAD: u32 = 9;
const DATA: u8 = 103;

/// The number of the request and the length of the data in a data reply that begins
/// with this; `None` for another reply.
pub(super) fn parse_data_head(head: &[u8]) -> Option<(u32, u32)> {
    let mut rest = PacketReader(head);
    if rest.byte()? != DATA {
        return None;
    }
    Some((rest.number()?, rest.number()?))
}

/// The version and the names of the extensions in the reply to INIT.
pub(super) fn parse_version(packet: &[u8]) -> Option<(u32, Vec<Vec<u8>>)> {
    let mut rest = PacketReader(packet);
    if rest.byte()? != VERSION {
        return None;
    }
    let version = rest.number()?;
    let mut extensions = Vec::new();
    while let Some(name) = rest.bytes() {
        extensions.push(name.to_vec());
        rest.bytes()?;
    }
    Some((version, extensions))
}

/// Reads a packet field by field.
struct PacketReader<'a>(&'a [u8]);

impl<'a> PacketReader<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, left) = self.0.split_at_checked(count)?;
        self.0 = left;
        Some(taken)
    }

    fn byte(&mut self) -> Option<u8> {
        self.take(1)?.first().copied()
    }

    fn number(&mut self) -> Option<u32> {
        Some(u32::from_be_bytes(self.take(4)?.try_into().ok()?))
    }

    fn long(&mut self) -> Option<u64> {
        Some(u64::from_be_bytes(self.take(8)?.try_into().ok()?))
    }

    fn bytes(&mut self) -> Option<&'a [u8]> {
        let count = usize::try_from(self.number()?).ok()?;
        self.take(count)
    }

    fn attributes(&mut self) -> Option<SftpAttributes> {
        let flags = self.number()?;
        let mut attributes = SftpAttributes::default();
        if flags & 1 != 0 {
            attributes.bytes = Some(self.long()?);
        }
        if flags & 2 != 0 {
            self.take(8)?;
        }
        if flags & 4 != 0 {
            attributes.mode = Some(self.number()?);
        }
        if flags & 8 != 0 {
            self.take(4)?;
            attributes.modified = Some(self.number()?);
        }
        if flags & 0x8000_0000 != 0 {
            for _ in 0..self.number()? {
                self.bytes()?;
                self.bytes()?;
            }
        }
        Some(attributes)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[track_caller]
    fn check(packet: &[u8], expected: Option<(u32, SftpReply)>) {
        assert_eq!(parse_reply(packet), expected, "{packet:?}");
    }

    #[test]
    fn replies_and_what_only_looks_like_one() {
        let status = |text: &str| SftpReply::Status {
            code: 2,
            text: text.into(),
        };
        check(
            &[101, 0, 0, 0, 7, 0, 0, 0, 2, 0, 0, 0, 1, b'x'],
            Some((7, status("x"))),
        );
        check(&[101, 0, 0, 0, 7, 0, 0, 0, 2], Some((7, status(""))));
        check(
            &[102, 0, 0, 0, 1, 0, 0, 0, 2, 8, 9],
            Some((1, SftpReply::Handle(vec![8, 9]))),
        );
        check(
            &[103, 0, 0, 0, 1, 0, 0, 0, 0],
            Some((1, SftpReply::Data(vec![]))),
        );
        let file = SftpAttributes {
            bytes: Some(5),
            mode: Some(0o100_644),
            modified: Some(9),
        };
        let form = [
            &[0, 0, 0, 13, 0, 0, 0, 0, 0, 0, 0, 5, 0, 0, 0x81, 0xa4][..],
            &[0, 0, 0, 1, 0, 0, 0, 9],
        ]
        .concat();
        check(
            &[&[105, 0, 0, 0, 3][..], &form].concat(),
            Some((3, SftpReply::Attributes(file))),
        );
        let names = [
            &[104, 0, 0, 0, 3, 0, 0, 0, 1, 0, 0, 0, 1, b'a', 0, 0, 0, 0][..],
            &form,
        ];
        let one = SftpReply::Names(vec![(b"a".to_vec(), file)]);
        check(&names.concat(), Some((3, one)));

        check(&[], None);
        check(&[101, 0, 0, 0], None);
        check(&[103, 0, 0, 0, 1, 255, 255, 255, 255, 1], None);
        check(&[104, 0, 0, 0, 1, 255, 255, 255, 255], None);
        check(&[105, 0, 0, 0, 1, 255, 255, 255, 255, 0], None);
        check(&[99, 0, 0, 0, 1, 0, 0, 0, 0], None);
    }

    #[test]
    fn the_version_names_its_extensions() {
        let packet = [&[2, 0, 0, 0, 3, 0, 0, 0, 2][..], b"ab", &[0, 0, 0, 1], b"1"].concat();
        assert_eq!(parse_version(&packet), Some((3, vec![b"ab".to_vec()])));
        assert_eq!(parse_version(&[2, 0, 0, 0, 3]), Some((3, vec![])));
        assert_eq!(parse_version(&[3, 0, 0, 0, 3]), None);
    }

    #[test]
    fn a_request_begins_with_its_length() {
        let request = SftpRequest::new(READ, 1)
            .bytes(b"h")
            .long(2)
            .number(3)
            .finish();
        let expected = [
            &[0, 0, 0, 22, 5, 0, 0, 0, 1, 0, 0, 0, 1, b'h'][..],
            &[0, 0, 0, 0, 0, 0, 0, 2, 0, 0, 0, 3],
        ];
        assert_eq!(request, expected.concat());
    }

    proptest! {
        #[test]
        fn no_bytes_make_the_reader_panic(
            kind in 0..=255_u8,
            bytes in proptest::collection::vec(any::<u8>(), 0..200),
        ) {
            let packet = [&[kind][..], &bytes].concat();
            let _ = parse_reply(&packet);
            let _ = parse_version(&packet);
        }
    }
}
