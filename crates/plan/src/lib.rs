//! Every decision about the controls of a layout, each with its reasons.
//!
//! [`model`] is what a finished plan holds. Each other module makes one kind of decision: numbers, strips, addresses,
//! decoders. Pins in the description win over everything else. Whether the finished plan is any good is not judged
//! here but in `rules`, which sees only the model.

pub mod model;
