//! A long FLAC file, and how much memory the command needs for it.

use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use flacenc::bitsink::ByteSink;
use flacenc::component::{BitRepr as _, Stream, StreamInfo};
use flacenc::config::Encoder;
use flacenc::error::Verify as _;
use flacenc::source::{Fill as _, FrameBuf};

use crate::case::HomeCase;

const RATE: usize = 16_000;
/// The most samples a block can have here.
const BLOCK: usize = 32_767;

/// Writes minutes of hiss that is not packed, so that the file is as large as its sound.
fn write_hiss(path: &Path, minutes: usize) -> u64 {
    let mut config = Encoder::default();
    config.subframe_coding.use_constant = false;
    config.subframe_coding.use_fixed = false;
    config.subframe_coding.use_lpc = false;
    let config = config.into_verified().unwrap();
    let hiss: Vec<i32> = (0..BLOCK).map(|n| (n * 7_919 % 5) as i32 - 2).collect();
    let mut block = FrameBuf::with_size(1, BLOCK).unwrap();
    block.fill_interleaved(&hiss).unwrap();
    let blocks = minutes * 60 * RATE / BLOCK;
    let mut info = StreamInfo::new(RATE, 1, 16).unwrap();
    info.set_block_sizes(BLOCK, BLOCK).unwrap();
    info.set_total_samples(blocks * BLOCK);
    let mut file = BufWriter::new(File::create(path).unwrap());
    let mut write = |part: &dyn Fn(&mut ByteSink)| {
        let mut sink = ByteSink::new();
        part(&mut sink);
        file.write_all(sink.as_slice()).unwrap();
    };
    write(&|sink| Stream::with_stream_info(info.clone()).write(sink).unwrap());
    for number in 0..blocks {
        let frame = flacenc::encode_fixed_size_frame(&config, &block, number, &info).unwrap();
        write(&|sink| frame.write(sink).unwrap());
    }
    drop(file);
    fs::metadata(path).unwrap().len()
}

/// The most memory, in bytes, that `jumpseat hear` had while it heard a file.
fn peak(case: &HomeCase, name: &str) -> u64 {
    let mut hearing = Command::new(env!("CARGO_BIN_EXE_jumpseat"))
        .arg("--home")
        .arg(case.home())
        .arg("hear")
        .arg(case.at(name))
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", hearing.id());
    let mut most = 0;
    while hearing.try_wait().unwrap().is_none() {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok());
        most = most.max(kilobytes.unwrap_or(0) * 1024);
        sleep(Duration::from_millis(5));
    }
    assert!(hearing.wait().unwrap().success(), "{name}");
    most
}

#[test]
fn a_long_flac_file_takes_no_more_memory_than_a_short_one() {
    let case = HomeCase::empty();
    write_hiss(&case.at("short.flac"), 5);
    let bytes = write_hiss(&case.at("long.flac"), 40);
    let short = peak(&case, "short.flac");
    let long = peak(&case, "long.flac");
    println!(
        "hear: {} MB of FLAC, 40 minutes, at most {} MB in memory; 5 minutes {} MB",
        bytes / 1_000_000,
        long / 1_000_000,
        short / 1_000_000
    );
    assert!(short > 0, "nobody told the memory");
    assert!(
        long < short + 16_000_000,
        "{long} bytes, {short} for a short file"
    );
}
