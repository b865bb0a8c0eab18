//! Waiting for one of `c` benches: the part of the time away that more spares do not shorten.

/// Chance that all `c` servers are busy when demand that finds none goes elsewhere (Erlang B), by the recursion.
/// `load`: mean demand per mean time of service.
#[must_use]
pub fn erlang_b(load: f64, servers: u32) -> f64 {
    (1..=servers).fold(1.0, |b, c| load * b / (f64::from(c) + load * b))
}

/// Chance to wait when demand queues (Erlang C); 1 when the load is not less than the servers: the queue grows without end.
#[must_use]
pub fn erlang_c(load: f64, servers: u32) -> f64 {
    let c = f64::from(servers);
    if load >= c {
        return 1.0;
    }
    let b = erlang_b(load, servers);
    c * b / (c - load * (1.0 - b))
}

/// The load at which the chance of Erlang B is `blocking`; it rises with the load.
#[must_use]
pub fn offered_load(blocking: f64, servers: u32) -> f64 {
    if servers == 0 || blocking <= 0.0 {
        return 0.0;
    }
    if blocking >= 1.0 {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (0.0, 1.0);
    while erlang_b(high, servers) < blocking {
        low = high;
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if erlang_b(middle, servers) < blocking {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}
