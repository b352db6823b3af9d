//! The desk: a local web page from which everything can be done that a coach or a player needs.
//!
//! [`Desk::open`] locks a data folder, and listens on the loopback interface; [`Desk::serve`]
//! answers until it is stopped. All pages stand below an address with a fresh secret
//! ([`secret`]), and [`guard`] refuses what a page of another site could ask. Screens
//! ([`screens`]) show what stands in the [`folder`]; reports, handouts and games come from
//! [`hobble_pages`]. A scan runs as a program of its own ([`scan`]), so that it outlives a closed
//! tab, can be stopped, and gives its memory back.
//!
//! ```
//! use hobble_desk::{Desk, Settings};
//!
//! # fn main() -> anyhow::Result<()> {
//! let folder = tempfile::tempdir()?;
//! let desk = Desk::open(Settings::of(folder.path().join("data")))?;
//! assert!(desk.address().starts_with("http://127.0.0.1:"));
//! // A second desk on the same folder is refused.
//! assert!(Desk::open(Settings::of(folder.path().join("data"))).is_err());
//! # Ok(())
//! # }
//! ```

mod desk;
mod failed;
mod fields;
pub mod folder;
mod form;
pub mod guard;
mod lock;
mod page;
mod routes;
pub mod scan;
pub mod screens;
pub mod secret;
mod serving;
mod settings;
mod shared;
mod tables;
mod templates;

pub use desk::{Desk, Stopper};
pub use settings::Settings;
