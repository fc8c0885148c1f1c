//! Who may do what.
//!
//! A panel that only its own computer can reach is open: whoever sits there may do everything. One that a network can reach
//! opens only with a key. There are three, one for each [`Role`], made when such a panel is served for the first time; a
//! browser exchanges a key for a session, which it keeps in a cookie that no script can read; a program sends the key itself.
//!
//! Keys and sessions are 128 random bits each, so nobody can guess or list them, and a plain SHA-256 of each is what is kept:
//! a slow hash is for words that people choose, and would only let strangers keep this computer busy.
//!
//! # Source
//! Cookies: RFC 6265bis, `HttpOnly` and `SameSite`. `Authorization: Bearer`: RFC 6750, section 2.1.

mod key_file;
mod secret;

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use axum::http::{HeaderMap, header};
use live::{Moment, Wait};

use crate::clock::Clock;
pub use key_file::KeysError;
use key_file::{Keys, Session};
use secret::{Hash, Secret};

const DAY_MS: u64 = 24 * 60 * 60 * 1_000;

/// How many sessions may last at once; the one that ends first makes room.
const SESSIONS_MAX: usize = 200;

/// What someone may do; each role may do what the one before it may.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// See everything, and stop everything: a stop needs no permission.
    Look,
    /// Throw, set routes, lock, undo, let go on.
    Operate,
    /// Take the whole log away, read the measurements, put faults into the modelled layout.
    Maintain,
}

impl Role {
    /// Every one, the least first.
    pub const ALL: [Self; 3] = [Self::Look, Self::Operate, Self::Maintain];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Look => "look",
            Self::Operate => "operate",
            Self::Maintain => "maintain",
        }
    }

    fn called(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }

    /// How long a device that entered may stay. Who may do more is asked more often.
    pub(crate) fn session(self) -> Wait {
        match self {
            Self::Look | Self::Operate => Wait(30 * DAY_MS),
            Self::Maintain => Wait(DAY_MS),
        }
    }
}

/// A key that was made just now. It can be shown this once: only its hash is kept.
#[derive(Clone, PartialEq, Eq)]
pub struct NewKey {
    /// What it opens.
    pub role: Role,
    /// The key.
    pub key: String,
}

impl std::fmt::Debug for NewKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "NewKey({})", self.role.word())
    }
}

/// How people come in.
#[derive(Clone, Debug)]
pub struct Access(Option<Arc<Doors>>);

#[derive(Debug)]
struct Doors {
    path: PathBuf,
    keys: Mutex<Keys>,
    clock: Clock,
    cookie: String,
}

/// Someone who came in with a key.
pub(crate) struct Entered {
    pub(crate) role: Role,
    /// What the browser is to keep.
    pub(crate) cookie: String,
}

impl Access {
    /// Everyone who can reach the panel may do everything.
    pub fn open() -> Self {
        Self(None)
    }

    /// Only who has one of the keys in this file; when there is no such file, it is made, with new keys.
    ///
    /// # Errors
    /// When the file cannot be read or written, or holds something else than keys.
    pub fn keyed(path: &Path, port: u16) -> Result<(Self, Vec<NewKey>), KeysError> {
        let (keys, fresh) = Keys::read_or_make(path)?;
        let doors = Doors {
            path: path.to_owned(),
            keys: Mutex::new(keys),
            clock: Clock::start(),
            // Cookies are kept by host, whatever the port: two panels on one computer must not take each other's.
            cookie: format!("throwbar-{port}"),
        };
        Ok((Self(Some(Arc::new(doors))), fresh))
    }

    /// Whether keys are asked for.
    pub(crate) fn is_keyed(&self) -> bool {
        self.0.is_some()
    }

    /// What whoever sent these headers may do; none when they may do nothing.
    pub(crate) fn role(&self, headers: &HeaderMap) -> Option<Role> {
        let Some(doors) = &self.0 else { return Some(Role::Maintain) };
        let keys = doors.keys.lock().ok()?;
        if let Some(key) = bearer(headers) {
            return keys.role_of_key(&Secret::typed(key)?.hash());
        }
        keys.role_of_session(&doors.session(headers)?, doors.clock.now())
    }

    /// Lets someone in who shows a key. Writes a file.
    pub(crate) fn enter(&self, typed: &str) -> Option<Entered> {
        let doors = self.0.as_ref()?;
        let mut keys = doors.keys.lock().ok()?;
        let role = keys.role_of_key(&Secret::typed(typed)?.hash())?;
        let secret = Secret::new().ok()?;
        let (now, lasts) = (doors.clock.now(), role.session());
        keys.sessions.retain(|session| session.until > now);
        if keys.sessions.len() >= SESSIONS_MAX {
            keys.sessions.sort_by_key(|session| session.until);
            keys.sessions.remove(0);
        }
        keys.sessions.push(Session { role, hash: secret.hash(), until: now.after(lasts) });
        // A session that cannot be kept lasts until the panel is closed, which harms nobody.
        drop(keys.write(&doors.path));
        let cookie = format!(
            "{}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age={}",
            doors.cookie,
            secret.letters(),
            lasts.0 / 1_000
        );
        Some(Entered { role, cookie })
    }

    /// Ends the session of whoever sent these headers; gives back what makes the browser forget it. Writes a file.
    pub(crate) fn leave(&self, headers: &HeaderMap) -> Option<String> {
        let doors = self.0.as_ref()?;
        if let (Some(hash), Ok(mut keys)) = (doors.session(headers), doors.keys.lock()) {
            keys.sessions.retain(|session| session.hash != hash);
            // A session that cannot be deleted from the file lasts until it ends by itself.
            drop(keys.write(&doors.path));
        }
        Some(format!("{}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0", doors.cookie))
    }
}

impl Doors {
    fn session(&self, headers: &HeaderMap) -> Option<Hash> {
        let rows = headers.get_all(header::COOKIE).iter().filter_map(|row| row.to_str().ok());
        let mut cookies =
            rows.flat_map(|row| row.split(';')).filter_map(|cookie| cookie.trim().split_once('='));
        let (_, value) = cookies.find(|(name, _)| *name == self.cookie)?;
        Some(Secret::typed(value)?.hash())
    }
}

fn bearer(headers: &HeaderMap) -> Option<&str> {
    let value = headers.get(header::AUTHORIZATION)?.to_str().ok()?;
    let (scheme, key) = value.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then_some(key)
}

impl Keys {
    fn role_of_key(&self, hash: &Hash) -> Option<Role> {
        self.keys.iter().find(|(_, known)| known == hash).map(|(role, _)| *role)
    }

    fn role_of_session(&self, hash: &Hash, now: Moment) -> Option<Role> {
        let session = self.sessions.iter().find(|session| session.hash == *hash)?;
        (session.until > now).then_some(session.role)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_session_ends_when_its_time_is_up() {
        let hash = Secret::new().unwrap().hash();
        let session = Session { role: Role::Operate, hash: hash.clone(), until: Moment(1_000) };
        let keys = Keys { keys: Vec::new(), sessions: vec![session] };
        assert_eq!(keys.role_of_session(&hash, Moment(999)), Some(Role::Operate));
        assert_eq!(keys.role_of_session(&hash, Moment(1_000)), None);
        assert_eq!(keys.role_of_session(&Secret::new().unwrap().hash(), Moment(1)), None);
    }
}
