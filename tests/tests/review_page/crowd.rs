//! Hundreds of connections that never say anything, say it slowly, or never read.

use std::io::{ErrorKind, Read as _, Write as _};
use std::net::TcpStream;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::home::{DEMO, ReviewedHome};
use crate::socket::PageVisitor;

/// How long the person's page may take.
const WITHIN: Duration = Duration::from_secs(1);
/// A stranger is gone after this, with some time to notice.
const GONE: Duration = Duration::from_secs(12);

fn connect(port: u16, words: &str) -> TcpStream {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    // A server that has no room for it may close it at once.
    let _ = stream.write_all(words.as_bytes());
    stream
}

/// Whether the other side closed it.
fn is_closed(stream: &mut TcpStream) -> bool {
    stream.set_nonblocking(true).unwrap();
    let mut buffer = [0; 4096];
    loop {
        match stream.read(&mut buffer) {
            Ok(0) => return true,
            Ok(_) => {}
            Err(error) => return error.kind() != ErrorKind::WouldBlock,
        }
    }
}

/// Opens the person's page several times; the longest wait.
#[track_caller]
fn waited(guest: &PageVisitor, what: &str) -> Duration {
    let mut longest = Duration::ZERO;
    for _ in 0..5 {
        let begin = Instant::now();
        let answer = guest.get("/history");
        longest = longest.max(begin.elapsed());
        assert_eq!(answer.status, 200, "{what}: {}", answer.text());
    }
    println!("figure: review: {what}: the page came after {longest:.0?} at most");
    assert!(longest < WITHIN, "{what}: {longest:?}");
    longest
}

#[test]
fn five_hundred_strangers_that_hang_on_do_not_keep_the_person_waiting() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    waited(&guest, "alone");
    let mut silent: Vec<TcpStream> = (0..250).map(|_| connect(review.port, "")).collect();
    waited(&guest, "with 250 that say nothing");
    let slow: Vec<TcpStream> = (0..250)
        .map(|_| connect(review.port, "GET / HTTP/1.1\r\nX: "))
        .collect();
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let (done, slow) = (&done, &slow);
        scope.spawn(move || {
            while !done.load(Ordering::SeqCst) {
                for mut stream in slow {
                    // Those that were closed are past saying anything.
                    let _ = stream.write_all(b"x");
                }
                std::thread::sleep(Duration::from_millis(100));
            }
        });
        waited(&guest, "with 250 more that send a letter now and then");
        let begin = Instant::now();
        let all_gone = |streams: &mut [TcpStream]| streams.iter_mut().all(is_closed);
        while !all_gone(&mut silent) && begin.elapsed() < GONE {
            std::thread::sleep(Duration::from_millis(100));
        }
        assert!(all_gone(&mut silent), "strangers stay");
        waited(&guest, "once the silent ones are gone");
        done.store(true, Ordering::SeqCst);
    });
}

#[test]
fn sounds_that_nobody_reads_neither_stop_the_page_nor_fill_the_memory() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    // Ten megabytes each, from one who has the cookie; silence after the end of the trip
    // is made as fast as it is sent.
    let ask = format!(
        "GET /sound/{DEMO}/rx/20000000-25000000/raw.wav HTTP/1.1\r\nHost: {}\r\n{}\r\n",
        guest.host, guest.always
    );
    let mut readers: Vec<TcpStream> = Vec::new();
    for _ in 0..70 {
        let stream = connect(review.port, &ask);
        stream
            .set_read_timeout(Some(Duration::from_secs(20)))
            .unwrap();
        // It has begun to come, and nobody takes more of it.
        stream.peek(&mut [0; 1]).unwrap();
        readers.push(stream);
    }
    waited(&guest, "with 70 sounds that are not read");
    let open = readers.iter_mut().filter_map(|stream| {
        stream.set_nonblocking(true).unwrap();
        let mut all = 0;
        let mut buffer = [0; 65_536];
        while let Ok(count @ 1..) = stream.read(&mut buffer) {
            all += count;
        }
        (all > 0).then_some(all)
    });
    assert!(open.count() > 0);
    let usage = review.usage().unwrap();
    println!(
        "figure: review: {:.0} MiB at most with them",
        usage.peak_mib
    );
    assert!(usage.peak_mib < 700.0, "{} MiB", usage.peak_mib);
}
