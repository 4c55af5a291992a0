//! A board as a source: its files over SFTP, through the system's ssh.

mod address;
mod packet;
mod pipeline;
mod session;
mod sftp_source;
mod silence_timeout;
mod ssh;

pub use sftp_source::SftpSource;
pub(crate) use sftp_source::connect_to_board;
