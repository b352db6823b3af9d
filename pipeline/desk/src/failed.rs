//! What went wrong, as an answer: a status and one clear line.

use axum::http::StatusCode;

/// What went wrong with a request.
#[derive(Debug)]
pub struct Failed {
    /// Status of the answer.
    pub status: StatusCode,
    /// The line that is shown.
    pub line: String,
}

impl Failed {
    /// The request is wrong.
    pub fn bad(line: impl Into<String>) -> Failed {
        Failed {
            status: StatusCode::BAD_REQUEST,
            line: line.into(),
        }
    }

    /// There is no such thing.
    pub fn missing(line: impl Into<String>) -> Failed {
        Failed {
            status: StatusCode::NOT_FOUND,
            line: line.into(),
        }
    }

    /// Something stands in the way now.
    pub fn conflict(line: impl Into<String>) -> Failed {
        Failed {
            status: StatusCode::CONFLICT,
            line: line.into(),
        }
    }

    /// Too much work at a time.
    pub fn busy() -> Failed {
        Failed {
            status: StatusCode::SERVICE_UNAVAILABLE,
            line: "The desk is busy with other work. Try again in a moment.".to_owned(),
        }
    }
}

impl<E: Into<anyhow::Error>> From<E> for Failed {
    /// What the tables, questions or files say is wrong.
    fn from(error: E) -> Failed {
        Failed {
            status: StatusCode::UNPROCESSABLE_ENTITY,
            line: format!("{:#}", error.into()),
        }
    }
}
