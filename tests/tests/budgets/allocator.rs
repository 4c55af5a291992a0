//! Counts what is allocated.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

struct CountingAllocator;

#[global_allocator]
static ALLOCATOR: CountingAllocator = CountingAllocator;

static ALLOCATED_BYTES: AtomicI64 = AtomicI64::new(0);
static ALLOCATION_COUNT: AtomicU64 = AtomicU64::new(0);

thread_local! {
    static THREAD_IS_LEFT_OUT: Cell<bool> = const { Cell::new(false) };
}

/// Bytes that are allocated now.
pub(crate) fn allocated_bytes() -> i64 {
    ALLOCATED_BYTES.load(Ordering::Relaxed)
}

/// How often something was allocated, by threads that were not left out.
pub(crate) fn allocation_count() -> u64 {
    ALLOCATION_COUNT.load(Ordering::Relaxed)
}

/// What this thread allocates from now on does not count as a time.
pub(crate) fn leave_out_this_thread() {
    THREAD_IS_LEFT_OUT.set(true);
}

// SAFETY: everything is passed on to the system's allocator; counting neither
// allocates nor touches the memory.
unsafe impl GlobalAlloc for CountingAllocator {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        ALLOCATED_BYTES.fetch_add(layout.size() as i64, Ordering::Relaxed);
        if !THREAD_IS_LEFT_OUT.try_with(Cell::get).unwrap_or(true) {
            ALLOCATION_COUNT.fetch_add(1, Ordering::Relaxed);
        }
        // SAFETY: the caller keeps the promises of this trait.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        ALLOCATED_BYTES.fetch_sub(layout.size() as i64, Ordering::Relaxed);
        // SAFETY: as above.
        unsafe { System.dealloc(memory, layout) }
    }
}
