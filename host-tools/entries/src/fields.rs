//! Every field of a contact, in one table.
//!
//! ADIF and ADX records, the columns of a CSV file, the options of `jumpseat
//! confirm` and the form of the review page are all made from [`FIELDS`]. A new
//! field is a member of [`Contact`](crate::Contact) and a row in `fields/table.rs`; a new
//! [`FieldKind`] also needs its arms in the formats and in `edits.rs`, which the compiler
//! names. A contact that was imported before its field had a row keeps the value in
//! [`Contact::more`](crate::Contact::more), and it is exported from there.

mod kind;
mod table;
#[cfg(test)]
mod tests;

pub use kind::{AdifNames, CsvColumn, DraftSource, EditForm, EditOption, FieldKind, Member};
pub use table::{ContactField, FIELDS, FieldDefinition, in_adif_order, in_csv_order};
