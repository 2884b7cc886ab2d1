//! The log keeps every attempt whatever happens, and practice goes on whatever becomes of it.

mod asides;
mod kills;
mod place;
mod rights;
mod trouble;
mod versions;
