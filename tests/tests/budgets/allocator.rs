//! Counts what is allocated.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

struct Counting;

#[global_allocator]
static ALLOCATOR: Counting = Counting;

static HELD: AtomicI64 = AtomicI64::new(0);
static TIMES: AtomicU64 = AtomicU64::new(0);

thread_local! {
    static LEFT_OUT: Cell<bool> = const { Cell::new(false) };
}

/// Bytes that are allocated now.
pub(crate) fn held() -> i64 {
    HELD.load(Ordering::Relaxed)
}

/// How often something was allocated, by threads that were not left out.
pub(crate) fn times() -> u64 {
    TIMES.load(Ordering::Relaxed)
}

/// What this thread allocates from now on does not count as a time.
pub(crate) fn leave_out_this_thread() {
    LEFT_OUT.set(true);
}

// SAFETY: everything is passed on to the system's allocator; counting neither
// allocates nor touches the memory.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        HELD.fetch_add(layout.size() as i64, Ordering::Relaxed);
        if !LEFT_OUT.try_with(Cell::get).unwrap_or(true) {
            TIMES.fetch_add(1, Ordering::Relaxed);
        }
        // SAFETY: the caller keeps the promises of this trait.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        HELD.fetch_sub(layout.size() as i64, Ordering::Relaxed);
        // SAFETY: as above.
        unsafe { System.dealloc(memory, layout) }
    }
}
