//! The style sheet and the script.

use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;

use crate::templates::{SCRIPT, STYLE};

/// The house style and the desk's own.
pub async fn style() -> impl IntoResponse {
    let style = hobble_pages::style() + STYLE;
    ([(CONTENT_TYPE, "text/css; charset=utf-8")], style)
}

/// The script.
pub async fn script() -> impl IntoResponse {
    ([(CONTENT_TYPE, "text/javascript; charset=utf-8")], SCRIPT)
}
