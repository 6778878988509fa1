//! A sample season in an invented place, made through the public API.
