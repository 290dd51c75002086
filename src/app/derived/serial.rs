use std::sync::atomic::{AtomicU64, Ordering};

/// Numbers every land laid out, so that what stands on an older one is known as stale.
pub(crate) fn next_serial() -> u64 {
    static NEXT: AtomicU64 = AtomicU64::new(1);
    NEXT.fetch_add(1, Ordering::Relaxed)
}
