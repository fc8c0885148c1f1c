"""The same fan-out through a message broker, for comparison with `fan_out.rs`: 200 subscribers on one topic, 50 messages a second
for 20 seconds, each of the size of an event of the panel; prints the time from publishing to every subscriber's callback.

Needs Debian's mosquitto. All subscribers share one thread of Python, so the times are partly Python's. The broker keeps nothing on disk, and the panel syncs every throw: the broker does less.
"""

import select
import socket
import subprocess
import tempfile
import time

PORT, SUBSCRIBERS, A_SECOND, SECONDS, SIZE = 18983, 200, 50, 20, 900


def packet(kind, body):
    length, left = b"", len(body)
    while True:
        left, digit = divmod(left, 128)
        length += bytes([digit | (128 if left else 0)])
        if not left:
            return bytes([kind]) + length + body


def word(text):
    return len(text).to_bytes(2, "big") + text.encode()


def client(name):
    """MQTT 3.1.1 by hand (OASIS standard, sections 3.1 and 3.8): sockets without a library's threads in between."""
    sock = socket.create_connection(("127.0.0.1", PORT))
    sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    sock.sendall(packet(0x10, word("MQTT") + bytes([4, 2, 0, 0]) + word(name)))
    assert sock.recv(4) == bytes([0x20, 2, 0, 0])
    return sock


with tempfile.NamedTemporaryFile("w", suffix=".conf") as conf:
    conf.write(f"listener {PORT} 127.0.0.1\nallow_anonymous true\nset_tcp_nodelay true\n")
    conf.flush()
    broker = subprocess.Popen(["mosquitto", "-c", conf.name], stderr=subprocess.DEVNULL)
    try:
        time.sleep(1)
        subscribers = []
        for number in range(SUBSCRIBERS):
            sock = client(f"s{number}")
            sock.sendall(packet(0x82, bytes([0, 1]) + word("t") + bytes([0])))
            assert len(sock.recv(5)) == 5
            subscribers.append(sock)
        publisher = client("p")
        poll = select.epoll()
        for sock in subscribers:
            poll.register(sock, select.EPOLLIN)
        by_fd = {sock.fileno(): sock for sock in subscribers}
        held = {fd: b"" for fd in by_fd}
        whole = len(packet(0x30, word("t") + b"0" * SIZE))
        times, sent, started = [], [], time.perf_counter()
        while len(sent) < A_SECOND * SECONDS or (len(times) < len(sent) * SUBSCRIBERS and time.perf_counter() - started < SECONDS + 5):
            now = time.perf_counter()
            due = started + len(sent) / A_SECOND
            if len(sent) < A_SECOND * SECONDS and now >= due:
                publisher.sendall(packet(0x30, word("t") + f"{len(sent):>{SIZE}}".encode()))
                sent.append(time.perf_counter())
                continue
            for fd, _ in poll.poll(max(0.0, min(due - now, 0.02))):
                held[fd] += by_fd[fd].recv(65536)
                at = time.perf_counter()
                while len(held[fd]) >= whole:
                    message, held[fd] = held[fd][:whole], held[fd][whole:]
                    times.append(at - sent[int(message[-SIZE:])])
        times.sort()
        print(f"{len(times)} messages seen by {SUBSCRIBERS} subscribers: p50 {times[len(times) // 2] * 1e3:.1f} ms, "
              f"p99 {times[len(times) * 99 // 100] * 1e3:.1f} ms, longest {times[-1] * 1e3:.1f} ms")
    finally:
        broker.terminate()
        broker.wait()
