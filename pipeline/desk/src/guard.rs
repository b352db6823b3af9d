//! What is refused before a screen sees it: other hosts, addresses without the secret, requests that
//! a page of another site made, other methods. And the headers that every answer has.

use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, HeaderName, HeaderValue, ORIGIN, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, Method, Request, StatusCode};
use axum::response::{IntoResponse as _, Response};

use crate::secret::Secret;

/// What the desk's own screens may do: show its own styles, scripts and pictures, and send forms to
/// it.
pub const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' \
data:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

const SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// Who may ask.
pub struct Guard {
    /// `127.0.0.1:PORT` and `localhost:PORT`.
    hosts: [String; 2],
    secret: Secret,
}

/// Why a request is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// It is not for this desk, or does not know the secret: there is nothing.
    Nothing,
    /// It would change something, and was not sent by a page of the desk.
    Foreign,
    /// A method that no screen has.
    Method,
}

impl Guard {
    /// A guard of the desk on a port.
    pub fn new(port: u16, secret: Secret) -> Guard {
        Guard {
            hosts: [format!("127.0.0.1:{port}"), format!("localhost:{port}")],
            secret,
        }
    }

    /// Whether a request may pass.
    ///
    /// # Errors
    ///
    /// Why it may not.
    pub fn admit<B>(&self, request: &Request<B>) -> Result<(), Refusal> {
        let headers = request.headers();
        let host = one(headers, &HOST).flatten();
        let known = host.is_some_and(|host| self.hosts.iter().any(|own| own == host));
        let path = request.uri().path();
        let first = path.split('/').nth(1).unwrap_or_default();
        if !self.secret.is(first) || !known || request.uri().authority().is_some() {
            return Err(Refusal::Nothing);
        }
        let site = one(headers, &SITE).ok_or(Refusal::Nothing)?;
        if site.is_some_and(|site| !["same-origin", "none"].contains(&site)) {
            return Err(Refusal::Nothing);
        }
        match *request.method() {
            Method::GET | Method::HEAD => Ok(()),
            Method::POST if self.is_own(headers, site) => Ok(()),
            Method::POST => Err(Refusal::Foreign),
            _ => Err(Refusal::Method),
        }
    }

    /// Whether a page of the desk sent this. A form of a page without referrer says `Origin: null`;
    /// what the browser says of its site then decides, which no page can forge.
    fn is_own(&self, headers: &HeaderMap, site: Option<&str>) -> bool {
        let same_site = site == Some("same-origin");
        match one(headers, &ORIGIN) {
            None => false,
            Some(None) | Some(Some("null")) => same_site,
            Some(Some(origin)) => {
                let host = origin.strip_prefix("http://");
                host.is_some_and(|host| self.hosts.iter().any(|own| own == host))
            }
        }
    }
}

/// A header that may be there once: `None` where it is there twice or cannot be read.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<Option<&'a str>> {
    let mut all = headers.get_all(name).iter();
    let first = all.next();
    match (first, all.next()) {
        (None, _) => Some(None),
        (Some(value), None) => value.to_str().ok().map(Some),
        _ => None,
    }
}

/// The answer to a refused request: the same bytes whatever was asked.
pub fn refused(refusal: Refusal) -> Response {
    let (status, line) = match refusal {
        Refusal::Nothing => (StatusCode::NOT_FOUND, "Not found\n"),
        Refusal::Foreign => (
            StatusCode::FORBIDDEN,
            "This was not sent by a page of the desk, so nothing was done.\n",
        ),
        Refusal::Method => (StatusCode::METHOD_NOT_ALLOWED, "Only GET and POST.\n"),
    };
    (status, line).into_response()
}

/// Adds the headers that every answer has; a page with a policy of its own keeps that.
pub fn add_headers(headers: &mut HeaderMap) {
    let fixed = |text| HeaderValue::from_static(text);
    headers
        .entry(CONTENT_SECURITY_POLICY)
        .or_insert(fixed(POLICY));
    for (name, value) in [
        (REFERRER_POLICY, "no-referrer"),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (X_FRAME_OPTIONS, "DENY"),
        (CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
    ] {
        headers.insert(name, fixed(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PORT: u16 = 4321;

    fn asked(
        guard: &Guard,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
    ) -> Result<(), Refusal> {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        guard.admit(&request.body(()).unwrap())
    }

    #[test]
    fn only_the_desks_own_pages_may_ask() {
        let secret = Secret::fresh().unwrap();
        let own = format!("/{}/", secret.text());
        let guard = Guard::new(PORT, secret);
        let host = ("host", "127.0.0.1:4321");
        let nothing = Err(Refusal::Nothing);
        for (headers, expected) in [
            (&[host][..], Ok(())),
            (&[("host", "localhost:4321")], Ok(())),
            (&[host, ("sec-fetch-site", "none")], Ok(())),
            (&[host, ("sec-fetch-site", "cross-site")], nothing),
            (&[host, ("sec-fetch-site", "same-site")], nothing),
            (&[host, host], nothing),
            (&[("host", "evil.example:4321")], nothing),
            (&[("host", "127.0.0.1")], nothing),
            (&[("host", "127.0.0.1:4322")], nothing),
            (&[], nothing),
        ] {
            assert_eq!(asked(&guard, "GET", &own, headers), expected, "{headers:?}");
        }
        for path in ["/", "//", "/0123456789abcdef0123456789abcdef/", "/x"] {
            assert_eq!(asked(&guard, "GET", path, &[host]), nothing, "{path}");
        }
        let absolute = format!("http://127.0.0.1:4321{own}");
        assert_eq!(asked(&guard, "GET", &absolute, &[host]), nothing);
        assert_eq!(asked(&guard, "DELETE", &own, &[host]), Err(Refusal::Method));
    }

    #[test]
    fn only_the_desks_own_forms_change_anything() {
        let secret = Secret::fresh().unwrap();
        let own = format!("/{}/", secret.text());
        let guard = Guard::new(PORT, secret);
        let host = ("host", "127.0.0.1:4321");
        let origin = ("origin", "http://127.0.0.1:4321");
        let same = ("sec-fetch-site", "same-origin");
        for (headers, passes) in [
            (&[host, origin][..], true),
            (&[host, origin, same], true),
            (&[host, same], true),
            (&[host, ("origin", "null"), same], true),
            (&[host, ("origin", "null")], false),
            (&[host], false),
            (&[host, ("sec-fetch-site", "none")], false),
            (&[host, ("origin", "http://evil.example"), same], false),
            (&[host, ("origin", "https://127.0.0.1:4321")], false),
            (&[host, ("origin", "http://127.0.0.1:80"), same], false),
            (&[host, origin, origin], false),
        ] {
            let expected = if passes {
                Ok(())
            } else {
                Err(Refusal::Foreign)
            };
            assert_eq!(
                asked(&guard, "POST", &own, headers),
                expected,
                "{headers:?}"
            );
        }
    }
}
