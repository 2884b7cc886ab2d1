//! What is asked of the search.
