//! The screens, one a file.

use std::sync::Arc;

use axum::extract::{Query, State};

use crate::form::Form;
use crate::shared::Shared;

pub mod assets;
pub mod claim;
pub mod games;
pub mod handout;
pub mod keep;
pub mod lessons;
pub mod players;
pub mod positions;
pub mod questions;
pub mod quiz;
pub mod reading;
pub mod start;

/// The desk, as a screen is handed it.
pub type Desk = State<Arc<Shared>>;

/// The query of an address.
pub type Asked = Query<Vec<(String, String)>>;

/// The query as a form.
pub fn form(Query(pairs): Asked) -> Form {
    Form(pairs)
}

pub mod axum_form {
    //! A form that was sent.

    use std::time::Duration;

    use axum::extract::{Form as Sent, FromRequest, Request};
    use axum::http::StatusCode;
    use axum::response::{IntoResponse as _, Response};
    use tokio::time::timeout;

    use crate::form::Form;

    /// Time within which a form must have come.
    const COMES: Duration = Duration::from_secs(30);

    /// The fields of a form that was sent.
    pub struct Fields(pub Form);

    impl<S: Send + Sync> FromRequest<S> for Fields {
        type Rejection = Response;

        async fn from_request(request: Request, state: &S) -> Result<Fields, Response> {
            let sent = Sent::<Vec<(String, String)>>::from_request(request, state);
            match timeout(COMES, sent).await {
                Ok(Ok(Sent(pairs))) => Ok(Fields(Form(pairs))),
                Ok(Err(rejection)) => Err(rejection.into_response()),
                Err(_) => Err(StatusCode::REQUEST_TIMEOUT.into_response()),
            }
        }
    }
}
