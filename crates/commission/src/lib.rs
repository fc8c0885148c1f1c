//! From a finished plan to a railroad that works: in which order to try things, and where the fault is when one does not.
//!
//! [`fault`] holds what each part of a plan does to what can be seen when it fails. [`diagnose`] turns what was seen into the
//! smallest sets of faults that explain it and the next test that tells most for its minutes. [`say`] reads what a person
//! writes. [`order`] lays the steps of commissioning along the bench, so that each can fail only for the reasons it names. [`trial`] goes through them
//! with the one who tries: judges what was found and says where one is.
//! Nothing here decides anything about the railroad: that is done in `plan`.

pub mod diagnose;
pub mod fault;
pub mod mode;
pub mod order;
pub mod say;
pub mod trial;
