//! One module for each address that is served, with what it answers.

pub(crate) mod assets;
pub(crate) mod events;
pub(crate) mod levers;
pub(crate) mod page;
pub(crate) mod throw;
