//! hobble-tracks
