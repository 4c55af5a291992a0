//! Requests as they go over the wire, right and wrong ones.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::Duration;

use jumpseat_tests::parts::ReviewProcess;

/// What came back.
#[derive(Debug, Clone, Default)]
pub(crate) struct PageAnswer {
    pub(crate) status: u16,
    headers: Vec<(String, String)>,
    pub(crate) body: Vec<u8>,
}

impl PageAnswer {
    fn parse(bytes: &[u8]) -> Self {
        let end = bytes.windows(4).position(|four| four == b"\r\n\r\n");
        let Some(end) = end else {
            return Self::default();
        };
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let mut lines = head.lines();
        let status = lines
            .next()
            .and_then(|line| line.split(' ').nth(1)?.parse().ok());
        let header = |line: &str| {
            let (name, value) = line.split_once(':')?;
            Some((name.to_lowercase(), value.trim().to_owned()))
        };
        Self {
            status: status.unwrap_or(0),
            headers: lines.filter_map(header).collect(),
            body: bytes[end + 4..].to_vec(),
        }
    }

    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(had, _)| had == name)?;
        Some(&found.1)
    }

    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The value of the first hidden field of that name in a page.
    pub(crate) fn field(&self, name: &str) -> String {
        let page = self.text();
        let after = page.split(&format!("name=\"{name}\" value=\"")).nth(1);
        let value = after.and_then(|after| after.split('"').next());
        value
            .unwrap_or_else(|| panic!("no field {name} in {page}"))
            .to_owned()
    }
}

/// Sends bytes and reads until the other side closes.
pub(crate) fn send(port: u16, request: &[u8]) -> PageAnswer {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .unwrap();
    // A server that has heard enough does not read the rest.
    let _ = stream.write_all(request);
    let mut bytes = Vec::new();
    let mut buffer = [0; 65_536];
    while let Ok(count) = stream.read(&mut buffer) {
        if count == 0 {
            break;
        }
        bytes.extend_from_slice(&buffer[..count]);
    }
    PageAnswer::parse(&bytes)
}

/// A browser's side of the conversation, without the browser.
#[derive(Debug, Clone)]
pub(crate) struct PageVisitor {
    pub(crate) port: u16,
    pub(crate) host: String,
    /// Lines that every request holds.
    pub(crate) always: String,
}

impl PageVisitor {
    /// One that has nothing but the address.
    pub(crate) fn stranger(review: &ReviewProcess) -> Self {
        Self {
            port: review.port,
            host: format!("127.0.0.1:{}", review.port),
            always: String::new(),
        }
    }

    /// One that came by the first link.
    pub(crate) fn guest(review: &ReviewProcess) -> Self {
        let mut visitor = Self::stranger(review);
        let path = review.link.split_once(&visitor.host).unwrap().1;
        let answer = visitor.get(path);
        assert_eq!(answer.status, 200);
        let cookie = answer.header("set-cookie").unwrap();
        let cookie = cookie.split(';').next().unwrap();
        visitor.always = format!("Cookie: {cookie}\r\n");
        visitor
    }

    pub(crate) fn ask(&self, method: &str, path: &str, more: &str, body: &str) -> PageAnswer {
        let length = if body.is_empty() {
            String::new()
        } else {
            let kind = "application/x-www-form-urlencoded";
            format!("Content-Type: {kind}\r\nContent-Length: {}\r\n", body.len())
        };
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n{}{more}{length}\r\n{body}",
            self.host, self.always
        );
        send(self.port, request.as_bytes())
    }

    pub(crate) fn get(&self, path: &str) -> PageAnswer {
        self.ask("GET", path, "", "")
    }

    /// A form from the page itself.
    pub(crate) fn post(&self, path: &str, body: &str) -> PageAnswer {
        let origin = format!("Origin: http://{}\r\n", self.host);
        self.ask("POST", path, &origin, body)
    }
}
