//! The command line, tested from outside.
