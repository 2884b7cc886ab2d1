//! What holds the house together: layers, the tests of the program itself, what a package holds, and
//! what others have made of it.

mod dependencies;
mod layering;
mod own_tests;
mod package;
mod with_tools;
