//! Counts what is allocated.

use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicI64, Ordering};

struct Counting;

#[global_allocator]
static ALLOCATOR: Counting = Counting;

static HELD: AtomicI64 = AtomicI64::new(0);
/// Bytes that are allocated now.
pub(crate) fn held() -> i64 {
    HELD.load(Ordering::Relaxed)
}

// SAFETY: everything is passed on to the system's allocator; counting neither
// allocates nor touches the memory.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        HELD.fetch_add(layout.size() as i64, Ordering::Relaxed);
        // SAFETY: the caller keeps the promises of this trait.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        HELD.fetch_sub(layout.size() as i64, Ordering::Relaxed);
        // SAFETY: as above.
        unsafe { System.dealloc(memory, layout) }
    }
}
