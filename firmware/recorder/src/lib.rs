//! The recorder: a daemon for Linux boards, thin edges around the core.
