//! Tests of the binder against the PDF it makes, read back by an outside program (poppler).

mod fixture;
mod look;
