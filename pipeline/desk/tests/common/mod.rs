//! A desk that serves.

#![allow(dead_code, reason = "each test file uses its part")]

pub mod client;

use std::ops::Deref;
use std::path::Path;
use std::thread;

use client::Client;
use hobble_desk::{Desk, Settings};

/// A desk that serves until it is dropped.
pub struct Served {
    client: Client,
    stopper: hobble_desk::Stopper,
    thread: Option<thread::JoinHandle<()>>,
}

impl Deref for Served {
    type Target = Client;

    fn deref(&self) -> &Client {
        &self.client
    }
}

impl Served {
    /// Opens a desk and serves it.
    pub fn open(settings: Settings) -> Served {
        let desk = Desk::open(settings).unwrap();
        let client = Client::at(desk.address());
        let stopper = desk.stopper();
        let thread = thread::spawn(move || desk.serve().unwrap());
        Served {
            client,
            stopper,
            thread: Some(thread),
        }
    }

    /// A desk on a folder.
    pub fn on(data: &Path) -> Served {
        Served::open(Settings::of(data))
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stopper.stop();
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
