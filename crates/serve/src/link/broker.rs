//! The life of a link to a message broker: a connection is made, subscribed on, spoken over, lost, and tried again after a wait that grows.
//!
//! What is said and what it means stands in [`live::link::broker`]. Each connection has a client of its own, whose memory goes with it: what was to be
//! published on a connection that is lost is never published on the next. The client runs in a task beside this one, because waiting for it must
//! not be broken off; it ends with the connection, without a farewell, so that the broker speaks the last will.
//!
//! # Source
//! OASIS MQTT Version 5.0 (from memory): 3.1.2.5 and 3.1.3.2 for the last will, 3.3.1.3 for kept messages, 3.3.2.3.3 for message expiry, 4.6 for order.

use std::collections::BTreeMap;
use std::io;
use std::pin::pin;
use std::time::Duration;

use description::{LinkKind, SocketName};
use live::link::Backoff;
use live::link::broker::{Asked, Broker, Message, PAYLOAD_MAX, Panel, Terms, Told};
use live::{Event, Moment, Railroad, Reach, Said, Wait};
use network::{MachineId, Position};
use rumqttc::v5::mqttbytes::QoS;
use rumqttc::v5::mqttbytes::v5::{
    ConnectProperties, Filter, LastWill, LastWillProperties, Packet, PublishProperties, SubscribeReasonCode,
};
use rumqttc::v5::{AsyncClient, ConnectionError, Event as Spoken, EventLoop, MqttOptions};
use tokio::sync::mpsc::{Receiver, Sender, channel};
use tokio::sync::watch;
use tokio::task::AbortHandle;
use tokio::time::sleep;

use super::permits::Permits;
use crate::clock::Clock;
use crate::desk::Ear;

/// How many commands and answers may wait for one link.
const COMMANDS_WAITING_MAX: usize = 256;

/// How many messages may wait for the connection; past it the broker is too slow to be of use.
const MESSAGES_WAITING_MAX: usize = 8_192;

/// How many messages that came in may wait to be looked at.
const HEARD_WAITING_MAX: usize = 256;

/// How long a command may wait before it is of no use any more.
const COMMAND_FRESH: Wait = Wait(1_000);

/// How long nothing may be said before broker and client ask each other whether they are there: the shortest that the client takes.
const KEEP_ALIVE: Duration = Duration::from_secs(5);

/// How long the broker may take to let this panel in and subscribe.
const OPEN_WAIT: Duration = Duration::from_secs(5);

/// The desk's end of a link to a broker.
#[derive(Debug)]
pub(super) struct Club {
    link: Said,
    commands: Sender<Command>,
    panel: watch::Sender<Panel>,
}

#[derive(Debug)]
enum Command {
    Ask { machine: MachineId, position: Position, at: Moment },
    Answer { asked: Asked, why_not: Option<String> },
}

impl Club {
    pub(super) fn link(&self) -> &Said {
        &self.link
    }

    /// Asks whoever drives a machine to throw it: false when there is no room.
    pub(super) fn ask(&self, machine: MachineId, position: Position, at: Moment) -> bool {
        self.commands.try_send(Command::Ask { machine, position, at }).is_ok()
    }

    pub(super) fn answer(&self, asked: Asked, why_not: Option<String>) {
        // Without room the one who asked hears nothing, and shows the machine as without a report.
        drop(self.commands.try_send(Command::Answer { asked, why_not }));
    }

    pub(super) fn show(&self, panel: &Panel) {
        self.panel.send_if_modified(|shown| {
            let is_new = shown != panel;
            if is_new {
                shown.clone_from(panel);
            }
            is_new
        });
    }
}

/// The task's end of a link to a broker.
#[derive(Debug)]
pub(super) struct Table {
    broker: Broker,
    me: String,
    to: SocketName,
    ids: BTreeMap<String, MachineId>,
    names: BTreeMap<MachineId, String>,
    commands: Receiver<Command>,
    panel: watch::Receiver<Panel>,
    ear: Ear,
    clock: Clock,
    backoff: Backoff,
    /// How many connections there were.
    connections: u64,
}

/// Both ends of every link to a broker; the desk's in the order of the railroad's links.
pub(super) fn open(
    railroad: &Railroad,
    ear: &Ear,
    clock: Clock,
) -> io::Result<(Vec<Option<Club>>, Vec<Table>)> {
    let (mut clubs, mut tables) = (Vec::new(), Vec::new());
    for reach in railroad.links() {
        clubs.push(match address(railroad, reach) {
            None => None,
            Some(to) => {
                let table = Table::new(railroad, reach, to, ear.clone(), clock)?;
                table.map(|(club, table)| {
                    tables.push(table);
                    club
                })
            }
        });
    }
    Ok((clubs, tables))
}

/// The names of all machines that are shared over a broker, or thrown by asking.
pub(super) fn shared(railroad: &Railroad) -> Vec<String> {
    let links = railroad.links().iter();
    let brokers = links.filter_map(|reach| Broker::of(railroad, reach, "", Terms::USUAL));
    brokers.flat_map(|broker| broker.machines().map(str::to_owned).collect::<Vec<_>>()).collect()
}

fn address(railroad: &Railroad, reach: &Reach) -> Option<SocketName> {
    match &railroad.plan().network.described.links.get(reach.described?)?.kind {
        LinkKind::Broker { to, .. } => Some(to.value.clone()),
        LinkKind::Simulator | LinkKind::LayoutBus { .. } | LinkKind::Bytes(_) => None,
    }
}

/// How a talk ended.
enum Ended {
    /// The connection is of no use any more, for this reason.
    Lost(String),
    /// The desk is closed.
    Closed,
}

/// Ends the client's task, and with it the connection.
struct Connection(AbortHandle);

impl Drop for Connection {
    fn drop(&mut self) {
        self.0.abort();
    }
}

impl Table {
    fn new(
        railroad: &Railroad,
        reach: &Reach,
        to: SocketName,
        ear: Ear,
        clock: Clock,
    ) -> io::Result<Option<(Club, Self)>> {
        let mut random = [0; 8];
        getrandom::fill(&mut random).map_err(io::Error::other)?;
        let me = format!("throwbar-{:016x}", u64::from_le_bytes(random));
        let Some(broker) = Broker::of(railroad, reach, &me, Terms::USUAL) else { return Ok(None) };
        let machines =
            broker.machines().filter_map(|name| Some((railroad.machine_named(name)?, name.to_owned())));
        let names: BTreeMap<MachineId, String> = machines.collect();
        let ids = names.iter().map(|(id, name)| (name.clone(), *id)).collect();
        let (to_commands, commands) = channel(COMMANDS_WAITING_MAX);
        let (to_panel, panel) = watch::channel(Panel::default());
        let (backoff, connections) = (Backoff::default(), 0);
        let club = Club { link: broker.name().clone(), commands: to_commands, panel: to_panel };
        Ok(Some((
            club,
            Self { broker, me, to, ids, names, commands, panel, ear, clock, backoff, connections },
        )))
    }

    /// The machines that are shared.
    pub(super) fn machines(&self) -> impl Iterator<Item = MachineId> {
        self.names.keys().copied()
    }

    /// Lives until the desk lets go of its end.
    pub(super) async fn run(mut self, permits: Permits) {
        loop {
            let why = match self.meet(&permits).await {
                Ended::Closed => return,
                Ended::Lost(why) => why,
            };
            self.broker.disconnected(self.clock.both());
            self.pass_on(&permits, None).await;
            let link = self.broker.name().clone();
            self.ear.tell(Event::LinkDown { link: link.clone() }).await;
            self.ear.trouble(&link, why).await;
            let wait = Duration::from_millis(self.backoff.lost(self.clock.now()).0);
            let mut wait = pin!(sleep(wait));
            loop {
                tokio::select! {
                    biased;
                    () = &mut wait => break,
                    is_open = self.next(None) => if !is_open { return },
                }
                self.pass_on(&permits, None).await;
            }
        }
    }

    /// One connection, from its opening to its end.
    async fn meet(&mut self, permits: &Permits) -> Ended {
        self.connections += 1;
        let (client, events) = AsyncClient::new(self.options(), MESSAGES_WAITING_MAX);
        let (to_heard, mut heard) = channel(HEARD_WAITING_MAX);
        let _connection = Connection(tokio::spawn(listen(events, to_heard)).abort_handle());
        let mut is_up = false;
        let mut patience = pin!(sleep(OPEN_WAIT));
        loop {
            tokio::select! {
                () = &mut patience, if !is_up => return Ended::Lost("it does not answer".to_owned()),
                spoken = heard.recv() => match spoken {
                    Some(Ok(packet)) => match self.take(packet, &client) {
                        Ok(is_subscribed) if is_subscribed && !is_up => {
                            is_up = true;
                            self.backoff.up(self.clock.now());
                            let link = self.broker.name().clone();
                            self.ear.tell(Event::LinkUp { link }).await;
                        }
                        Ok(_) => {}
                        Err(why) => return Ended::Lost(why),
                    },
                    Some(Err(error)) => return Ended::Lost(error.to_string()),
                    None => return Ended::Lost("its far end closed it".to_owned()),
                },
                is_open = self.next(is_up.then_some(())) => if !is_open { return Ended::Closed },
            }
            if !self.pass_on(permits, Some(&client)).await {
                return Ended::Lost("it takes less than is to be sent".to_owned());
            }
        }
    }

    /// Takes what the broker said: whether that was that this panel is subscribed.
    fn take(&mut self, packet: Packet, client: &AsyncClient) -> Result<bool, String> {
        let now = self.clock.both();
        match packet {
            Packet::ConnAck(_) => {
                let topics = self.broker.subscriptions().into_iter();
                let topics = topics.map(|topic| Filter::new(topic, QoS::AtLeastOnce));
                client.try_subscribe_many(topics).map_err(|error| error.to_string())?;
            }
            Packet::SubAck(acknowledged) => {
                let is_taken = |code: &SubscribeReasonCode| matches!(code, SubscribeReasonCode::Success(_));
                if !acknowledged.return_codes.iter().all(is_taken) {
                    return Err("it does not let this panel listen".to_owned());
                }
                self.broker.connected(now);
                return Ok(true);
            }
            Packet::Publish(publish) => {
                if let Ok(topic) = std::str::from_utf8(&publish.topic) {
                    self.broker.hear(topic, &publish.payload, publish.retain, now);
                }
            }
            Packet::Disconnect(_) => return Err("it sent this panel away".to_owned()),
            // What the client answers by itself, or a broker never sends.
            Packet::Auth(_)
            | Packet::Connect(..)
            | Packet::PubAck(_)
            | Packet::PubRec(_)
            | Packet::PubRel(_)
            | Packet::PubComp(_)
            | Packet::PingReq(_)
            | Packet::PingResp(_)
            | Packet::Subscribe(_)
            | Packet::Unsubscribe(_)
            | Packet::UnsubAck(_) => {}
        }
        Ok(false)
    }

    /// The next thing that the desk or the time says: false when the desk is closed.
    async fn next(&mut self, connection: Option<()>) -> bool {
        let pause = Duration::from_millis(self.broker.next_due().0);
        tokio::select! {
            // A stop goes before all that waits.
            biased;
            changed = self.panel.changed() => {
                if changed.is_err() {
                    return false;
                }
                let panel = self.panel.borrow_and_update().clone();
                self.broker.show(panel, self.clock.both());
            }
            command = self.commands.recv() => match command {
                None => return false,
                Some(Command::Answer { asked, why_not }) => self.broker.answered(&asked, why_not),
                Some(Command::Ask { machine, position, at }) => {
                    let is_late = self.clock.now().since(at) > COMMAND_FRESH;
                    let name = self.names.get(&machine).filter(|_| connection.is_some() && !is_late);
                    let is_asked =
                        name.is_some_and(|name| self.broker.throw(name, position, at, self.clock.both()));
                    if !is_asked {
                        self.ear.tell(Event::QueueFull { machine }).await;
                    }
                }
            },
            () = sleep(pause) => {}
        }
        true
    }

    /// Hands on what follows from what was said: false when there is no room for what is to be published.
    async fn pass_on(&mut self, permits: &Permits, client: Option<&AsyncClient>) -> bool {
        self.broker.tick(self.clock.both());
        permits.grant(self.ids.iter().map(|(name, id)| (*id, self.broker.permit(name))));
        let messages = self.broker.take();
        if let Some(client) = client
            && !messages.into_iter().all(|message| publish(client, message))
        {
            return false;
        }
        for told in self.broker.told() {
            match told {
                Told::Elsewhere(said) => self.ear.tell(Event::Elsewhere(said)).await,
                Told::Stop(by) => self.ear.tell(Event::Stop { by }).await,
                Told::Asked(asked) => self.ear.ask(self.broker.name(), asked).await,
            }
        }
        true
    }

    fn options(&self) -> MqttOptions {
        let host = self.to.host.trim_start_matches('[').trim_end_matches(']');
        // Each connection has a name of its own: one that is heard of late must not push out the one of now (3.1.4).
        let name = format!("{}-{}", self.me, self.connections);
        let mut options = MqttOptions::new(name, host, self.to.port);
        let Message { topic, payload, expiry, .. } = self.broker.will();
        let properties = LastWillProperties {
            delay_interval: None,
            payload_format_indicator: None,
            message_expiry_interval: expiry.map(seconds),
            content_type: None,
            response_topic: None,
            correlation_data: None,
            user_properties: Vec::new(),
        };
        let will = LastWill::new(topic, payload, QoS::AtLeastOnce, true, Some(properties));
        let mut connect = ConnectProperties::new();
        connect.session_expiry_interval = Some(0);
        connect.max_packet_size = u32::try_from(PAYLOAD_MAX + 4_096).ok();
        options
            .set_keep_alive(KEEP_ALIVE)
            .set_clean_start(true)
            .set_last_will(will)
            .set_connection_timeout(OPEN_WAIT.as_secs())
            .set_connect_properties(connect);
        let mut network = options.network_options();
        network.set_tcp_nodelay(true);
        options.set_network_options(network);
        options
    }
}

fn publish(client: &AsyncClient, message: Message) -> bool {
    let Message { topic, payload, retain, expiry } = message;
    let properties =
        PublishProperties { message_expiry_interval: expiry.map(seconds), ..PublishProperties::default() };
    client.try_publish_with_properties(topic, QoS::AtLeastOnce, retain, payload, properties).is_ok()
}

fn seconds(wait: Wait) -> u32 {
    u32::try_from(wait.0.div_ceil(1_000)).unwrap_or(u32::MAX)
}

/// The client's part: everything that comes in, until the connection is lost.
async fn listen(mut events: EventLoop, heard: Sender<Result<Packet, ConnectionError>>) {
    loop {
        let (spoken, is_over) = match events.poll().await {
            Ok(Spoken::Incoming(packet)) => (Ok(packet), false),
            Ok(Spoken::Outgoing(_)) => continue,
            Err(error) => (Err(error), true),
        };
        // Polled once more it would connect again, with all that it remembers.
        if heard.send(spoken).await.is_err() || is_over {
            return;
        }
    }
}
