//! A browser of the smallest kind.

#![allow(dead_code, reason = "each test file uses its part")]

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::Duration;

/// Asks a desk.
pub struct Client {
    /// `127.0.0.1:PORT`
    pub host: String,
    /// `/SECRET`
    pub base: String,
}

/// An answer.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Client {
    /// Of the desk at an address.
    pub fn at(address: &str) -> Client {
        let rest = address.strip_prefix("http://").unwrap();
        let (host, path) = rest.split_once('/').unwrap();
        Client {
            host: host.to_owned(),
            base: format!("/{}", path.trim_end_matches('/')),
        }
    }

    /// Sends bytes as they are, says that no more will come, and reads what comes back; empty where the
    /// desk closes.
    pub fn raw(&self, bytes: &[u8]) -> Vec<u8> {
        self.sent(bytes, true)
    }

    /// Sends a whole request as it is.
    pub fn whole(&self, request: &[u8]) -> Vec<u8> {
        self.sent(request, false)
    }

    fn sent(&self, bytes: &[u8], ends: bool) -> Vec<u8> {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(30)))
            .unwrap();
        // The desk may close while bytes are still sent.
        let _ = stream.write_all(bytes);
        if ends {
            let _ = stream.shutdown(std::net::Shutdown::Write);
        }
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        answer
    }

    /// Asks with these headers; the path begins below the base.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut request = format!("{method} {}{path} HTTP/1.1\r\n", self.base);
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str(&format!(
            "Connection: close\r\nContent-Length: {}\r\n\r\n",
            body.len()
        ));
        let answer = self.sent(&[request.as_bytes(), body].concat(), false);
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
        Answer {
            status: head
                .split(' ')
                .nth(1)
                .map_or(0, |code| code.parse().unwrap()),
            head: head.to_owned(),
            body: body.to_owned(),
        }
    }

    /// Opens a page.
    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[("Host", &self.host)], b"")
    }

    /// Sends a form.
    pub fn post(&self, path: &str, form: &str) -> Answer {
        let origin = format!("http://{}", self.host);
        let headers = [
            ("Host", self.host.as_str()),
            ("Origin", &origin),
            ("Content-Type", "application/x-www-form-urlencoded"),
        ];
        self.ask("POST", path, &headers, form.as_bytes())
    }

    /// Adds a file.
    pub fn upload(&self, name: &str, bytes: &[u8]) -> Answer {
        self.send_file("/archives", name, bytes)
    }

    /// Sends a file to an address.
    pub fn send_file(&self, path: &str, name: &str, bytes: &[u8]) -> Answer {
        let origin = format!("http://{}", self.host);
        let headers = [
            ("Host", self.host.as_str()),
            ("Origin", &origin),
            ("Content-Type", "multipart/form-data; boundary=desk-test"),
        ];
        let head = format!(
            "--desk-test\r\nContent-Disposition: form-data; name=\"archive\"; filename=\"{name}\"\r\n\r\n"
        );
        let body = [head.as_bytes(), bytes, b"\r\n--desk-test--\r\n"].concat();
        self.ask("POST", path, &headers, &body)
    }
}
