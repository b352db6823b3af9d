//! hobble-pages
