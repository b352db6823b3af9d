//! hobble-questions
