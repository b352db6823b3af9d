//! Answers: screens, whole pages of other crates, files to keep.

use axum::http::StatusCode;
use axum::http::header::{
    CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HeaderValue, LOCATION,
};
use axum::response::{Html, IntoResponse as _, Response};
use serde::Serialize;

use crate::failed::Failed;
use crate::shared::Shared;
use crate::templates;

/// What a screen answers.
pub type Answer = Result<Response, Failure>;

/// What went wrong, and the desk whose page says so.
pub struct Failure {
    failed: Failed,
    base: String,
}

impl Shared {
    /// A failure as a page of this desk.
    pub fn failure(&self, failed: Failed) -> Failure {
        Failure {
            failed,
            base: self.base.clone(),
        }
    }

    /// A screen.
    ///
    /// # Errors
    ///
    /// Where template and view disagree.
    pub fn screen<T: Serialize>(&self, name: &str, view: &T) -> Result<Response, Failed> {
        Ok(Html(templates::fill(name, &self.base, view)?).into_response())
    }

    /// A page of another crate, whole in itself, with its own policy and links back to the desk.
    /// The ways are addresses below the desk's base, with their words.
    ///
    /// # Errors
    ///
    /// Where the page does not say what it may do.
    pub fn whole_page(&self, html: &str, ways: &[(&str, &str)]) -> Result<Response, Failed> {
        let policy =
            policy_of(html).ok_or_else(|| anyhow::anyhow!("a page does not say what it may do"))?;
        let policy =
            format!("{policy}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
        let way = templates::fill("way.html", &self.base, &ways)?;
        let mut response =
            Html(html.replacen("<body>", &format!("<body>{way}"), 1)).into_response();
        let policy = HeaderValue::from_str(&policy)?;
        response
            .headers_mut()
            .insert(CONTENT_SECURITY_POLICY, policy);
        Ok(response)
    }

    /// Sends the browser on to an address below the desk's base.
    pub fn go(&self, path: &str) -> Response {
        let mut response = StatusCode::SEE_OTHER.into_response();
        if let Ok(place) = HeaderValue::from_str(&format!("{}{path}", self.base)) {
            response.headers_mut().insert(LOCATION, place);
        }
        response
    }
}

/// The policy that a page names for itself. In its mark-up the slash of a hash is escaped.
fn policy_of(html: &str) -> Option<String> {
    let (_, rest) = html.split_once("http-equiv=\"Content-Security-Policy\" content=\"")?;
    let (policy, _) = rest.split_once('"')?;
    let policy = policy.replace("&#x2f;", "/");
    (policy.starts_with("default-src 'none'") && !policy.contains('&')).then_some(policy)
}

/// A file to keep. Its name is made safe.
pub fn file(name: &str, kind: &'static str, bytes: impl Into<axum::body::Body>) -> Response {
    let safe = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
    let name: String = name
        .chars()
        .map(|c| if safe(c) { c } else { '_' })
        .collect();
    let mut response = bytes.into().into_response();
    let headers = response.headers_mut();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        headers.insert(CONTENT_DISPOSITION, value);
    }
    response
}

/// Something for the desk's own script.
pub fn json<T: Serialize>(value: &T) -> Result<Response, Failed> {
    let text = serde_json::to_string(value)?;
    Ok(([(CONTENT_TYPE, "application/json")], text).into_response())
}

impl axum::response::IntoResponse for Failure {
    fn into_response(self) -> Response {
        #[derive(Serialize)]
        struct View<'a> {
            line: &'a str,
        }
        let line = hobble_report::plain(&self.failed.line);
        match templates::fill("failed.html", &self.base, &View { line: &line }) {
            Ok(html) => (self.failed.status, Html(html)).into_response(),
            Err(_) => (self.failed.status, line).into_response(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::policy_of;

    #[test]
    fn a_page_says_what_it_may_do() {
        let page = |policy: &str| {
            format!("<meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">")
        };
        let escaped = page("default-src 'none'; script-src 'sha256-&#x2f;gl+o='");
        let policy = "default-src 'none'; script-src 'sha256-/gl+o='";
        assert_eq!(policy_of(&escaped).as_deref(), Some(policy));
        assert_eq!(policy_of(&page("default-src *")), None);
        assert_eq!(policy_of(&page("default-src 'none'&quot;")), None);
        assert_eq!(policy_of("<html>"), None);
    }
}
