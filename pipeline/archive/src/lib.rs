//! hobble-archive
