//! Jobs as tables for a spreadsheet: with plain columns, and with every field.

mod columns;
mod formula;
pub mod full;
pub mod plain;
pub mod plain_read;
pub mod rows;
mod words;
