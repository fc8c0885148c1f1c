//! How much each client may ask for: one bucket of requests and a count of streams for each address, in bounded memory.
//!
//! A bucket holds so many requests and is filled again at a steady pace, so that a page may load all it needs at once, but
//! nobody keeps the panel from others. When more addresses come than can be remembered, the one that has been quiet longest
//! is forgotten; forgetting fills its bucket, so it never locks anyone out.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex};

use live::{Moment, Wait};

use crate::clock::Clock;

/// How many addresses are remembered.
pub(crate) const CLIENTS_MAX: usize = 1_024;

/// How many requests one may send at once after a rest.
pub(crate) const REQUESTS_AT_ONCE: u64 = 300;

/// How many one may go on sending.
pub(crate) const REQUESTS_A_SECOND: u64 = 60;

/// What showing a key takes from the bucket: ten at once, then two a second.
pub(crate) const KEY_COSTS: u64 = 30;

/// How many streams one address may hold.
pub(crate) const STREAMS_OF_ONE_MAX: usize = 60;

/// All clients.
#[derive(Clone, Debug)]
pub(crate) struct Clients(Arc<(Clock, Mutex<BTreeMap<IpAddr, Client>>)>);

#[derive(Clone, Copy, Debug)]
struct Client {
    /// Thousandths of a request.
    left: u64,
    seen: Moment,
    streams: usize,
}

/// A stream that an address holds, until it is dropped.
#[derive(Debug)]
pub(crate) struct HeldStream(Clients, IpAddr);

impl Clients {
    pub(crate) fn new() -> Self {
        Self(Arc::new((Clock::start(), Mutex::default())))
    }

    /// Takes so much from a client's bucket; false when there is not enough in it.
    pub(crate) fn take(&self, client: IpAddr, cost: u64) -> bool {
        let (clock, clients) = &*self.0;
        let Ok(mut clients) = clients.lock() else { return false };
        let now = clock.now();
        let client = remembered(&mut clients, client, now);
        let filled = client.left + now.since(client.seen).0.saturating_mul(REQUESTS_A_SECOND);
        (client.left, client.seen) = (filled.min(REQUESTS_AT_ONCE * 1_000), now);
        let enough = client.left >= cost * 1_000;
        if enough {
            client.left -= cost * 1_000;
        }
        enough
    }

    /// One more stream for a client; none when it holds as many as it may.
    pub(crate) fn stream(&self, address: IpAddr) -> Option<HeldStream> {
        let (clock, clients) = &*self.0;
        let mut clients = clients.lock().ok()?;
        let client = remembered(&mut clients, address, clock.now());
        if client.streams >= STREAMS_OF_ONE_MAX {
            return None;
        }
        client.streams += 1;
        Some(HeldStream(self.clone(), address))
    }
}

impl Drop for HeldStream {
    fn drop(&mut self) {
        if let Ok(mut clients) = self.0.0.1.lock()
            && let Some(client) = clients.get_mut(&self.1)
        {
            client.streams = client.streams.saturating_sub(1);
        }
    }
}

fn remembered(clients: &mut BTreeMap<IpAddr, Client>, address: IpAddr, now: Moment) -> &mut Client {
    if clients.len() >= CLIENTS_MAX && !clients.contains_key(&address) {
        // One that holds a stream is kept as long as any other can go.
        let quiet = clients.iter().min_by_key(|(_, client)| (client.streams > 0, client.seen));
        if let Some(address) = quiet.map(|(address, _)| *address) {
            clients.remove(&address);
        }
    }
    clients.entry(address).or_insert(Client { left: REQUESTS_AT_ONCE * 1_000, seen: now, streams: 0 })
}

/// How long a client that asked too often should wait.
pub(crate) const TOO_OFTEN_WAIT: Wait = Wait(1_000);

#[cfg(test)]
mod tests {
    use super::*;

    fn address(number: u32) -> IpAddr {
        std::net::Ipv4Addr::from_bits(number).into()
    }

    #[test]
    fn a_client_that_asks_too_often_is_refused_and_others_are_not() {
        let clients = Clients::new();
        let taken = (0..REQUESTS_AT_ONCE * 2).filter(|_| clients.take(address(1), 1)).count() as u64;
        assert!(taken >= REQUESTS_AT_ONCE, "{taken}");
        assert!(!clients.take(address(1), REQUESTS_AT_ONCE), "its bucket is not full");
        assert!(clients.take(address(2), 1));
    }

    #[test]
    fn a_bucket_fills_again_and_never_overflows() {
        let clients = Clients::new();
        assert!(clients.take(address(1), REQUESTS_AT_ONCE));
        for client in clients.0.1.lock().unwrap().values_mut() {
            client.seen = Moment(0);
        }
        assert!(clients.take(address(1), REQUESTS_AT_ONCE), "it rested for decades");
        assert!(!clients.take(address(1), REQUESTS_AT_ONCE), "and was filled once");
    }

    #[test]
    fn memory_is_bounded_whoever_comes() {
        let clients = Clients::new();
        let held = clients.stream(address(7)).unwrap();
        for number in (100..).take(3 * CLIENTS_MAX) {
            assert!(clients.take(address(number), 1));
        }
        assert_eq!(clients.0.1.lock().unwrap().len(), CLIENTS_MAX);
        assert_eq!(clients.0.1.lock().unwrap()[&address(7)].streams, 1);
        drop(held);
        assert_eq!(clients.0.1.lock().unwrap()[&address(7)].streams, 0);
    }

    #[test]
    fn one_client_cannot_take_all_streams() {
        let clients = Clients::new();
        let mut held: Vec<_> = std::iter::from_fn(|| clients.stream(address(1))).take(10_000).collect();
        assert_eq!(held.len(), STREAMS_OF_ONE_MAX);
        assert!(clients.stream(address(2)).is_some());
        drop(held.pop());
        assert!(clients.stream(address(1)).is_some());
    }
}
