//! One module for each address that is served, with what it answers.

pub(crate) mod assets;
pub(crate) mod events;
pub(crate) mod health;
pub(crate) mod home;
pub(crate) mod levers;
pub(crate) mod log;
pub(crate) mod page;
pub(crate) mod routes;
pub(crate) mod throw;
pub(crate) mod whole;
