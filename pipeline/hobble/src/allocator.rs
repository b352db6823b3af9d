//! What the system's allocator does with memory that is let go.

/// Has memory go back to the system, and threads share what does not.
///
/// By itself the allocator of glibc raises the bound from which memory goes back at once to the largest piece that
/// was let go, and keeps smaller ones apart for up to eight times as many threads as there are cores. Measured on the
/// open archive, two threads, in as much processor time: a claim over thirty times the archive took 155 MB by itself and
/// takes 120 to 123. A scan of all tables takes 247 to 268 MiB with these bounds, 223 to 232 with
/// 256 KiB for the first and 292 to 341 with 8 MiB for both; but with 256 KiB the system spends twice as long on pages
/// that come and go (0.8 instead of 0.4 s of 14), and a question about a player takes 0.89 instead of 0.87 s.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
pub fn give_back() {
    let large = 1 << 20;
    // Free memory at the end of the heap that is kept.
    let kept = 1 << 20;
    // One arena alone has threads wait for one another.
    let cores = std::thread::available_parallelism().map_or(2, |cores| cores.get().max(2));
    let arenas = i32::try_from(cores).unwrap_or(i32::MAX);
    // SAFETY: sets numbers of the allocator, before another thread is started.
    #[allow(unsafe_code, reason = "no safe way to these settings; measured above")]
    unsafe {
        libc::mallopt(libc::M_MMAP_THRESHOLD, large);
        libc::mallopt(libc::M_TRIM_THRESHOLD, kept);
        libc::mallopt(libc::M_ARENA_MAX, arenas);
    }
}

/// Allocators of other systems have no such settings.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn give_back() {}
