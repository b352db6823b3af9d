//! hobble-tables
