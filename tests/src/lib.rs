//! hobble-tests
