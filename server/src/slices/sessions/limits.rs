//! How often somebody who is not signed in may try.

use std::{
    collections::{HashMap, VecDeque},
    net::IpAddr,
    sync::{Mutex, PoisonError},
};

use chrono::{DateTime, TimeDelta, Utc};
use governor::{
    DefaultDirectRateLimiter, RateLimiter,
    clock::{Clock as _, DefaultClock},
};
use sha2::{Digest as _, Sha256};

use crate::platform::{
    auth::{Email, ONE_ACCOUNT, Wait},
    error::Fault,
    http::network_limits::{NetworkLimits, network_of, slow_down},
    rates::{MOST_KEYS, quota},
};

/// How many networks an account is known to sign in from.
const MOST_KNOWN: usize = 8;

/// Tries at the codes that enrol devices: five at once and then five a minute from one network, sixty a minute from all of
/// them together.
///
/// A code is one of 31^8 = 852,891,037,441, and serves for ten minutes. One network has 5 + 10 x 5 = 55 tries in that time: with
/// ten codes open, it finds one with a chance of 55 x 10 / 31^8, one in fifteen hundred million. All networks of the world together
/// have 60 x 60 x 24 x 365 = 31.5 million tries in a year, with ten codes open all year long a chance of one in 2,700. Each
/// further process that serves adds as many. Who exhausts the common sixty keeps others from enrolling, and from nothing else.
/// Behind a proxy that is not named to the service all callers are one network.
pub struct CodeLimits {
    each: NetworkLimits,
    all: DefaultDirectRateLimiter,
}

impl Default for CodeLimits {
    fn default() -> Self {
        Self {
            each: NetworkLimits::new(5, 5),
            all: RateLimiter::direct(quota(60, 60)),
        }
    }
}

impl CodeLimits {
    /// Counts a try.
    pub fn count(&self, from: Option<IpAddr>) -> Result<(), Fault> {
        const WORDS: &str = "Too many codes were tried; wait a minute before the next";
        self.each.count(from, WORDS)?;
        let taken = self.all.check();
        taken.map_err(|until| slow_down(WORDS, until.wait_time_from(DefaultClock::default().now()).as_secs() + 1))
    }
}

/// What tries are counted by: half a hash, so that no key is longer than another.
type Key = [u8; 16];

fn key(parts: &[&str]) -> Key {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part.as_bytes());
        hash.update([0]);
    }
    let mut key = Key::default();
    key.iter_mut().zip(hash.finalize()).for_each(|(into, byte)| *into = byte);
    key
}

/// Tries for one email from one network.
const HERE: Wait = ONE_ACCOUNT;
/// Tries for one email from all networks that it was never signed in from.
const ELSEWHERE: Wait = Wait { free: 20, first: 6, most: 900 };
/// Tries from one network, whatever the email: one of a station's or a provider's, so more are free and the wait stays short.
const NETWORK: Wait = Wait { free: 60, first: 1, most: 60 };
/// Tries in all.
const ALL: Wait = Wait { free: 600, first: 1, most: 1 };
/// After so long without a try all is forgotten.
const REST: TimeDelta = TimeDelta::days(1);

/// Tries that have failed, or are on their way.
#[derive(Debug, Clone, Copy)]
struct Tries {
    failures: u32,
    free_at: DateTime<Utc>,
    last: DateTime<Utc>,
}

#[derive(Debug, Default)]
struct Counted {
    tries: HashMap<Key, Tries>,
    /// The networks from which an account was signed in to, the latest last.
    known: HashMap<Key, VecDeque<Key>>,
    swept: Option<DateTime<Utc>>,
}

impl Counted {
    /// Seconds until the next try.
    fn wait(&self, key: &Key, now: DateTime<Utc>) -> i64 {
        self.tries.get(key).map_or(0, |tries| {
            let left = (tries.free_at - now).num_milliseconds();
            if left > 0 { left / 1000 + 1 } else { 0 }
        })
    }

    fn fail(&mut self, key: Key, wait: Wait, now: DateTime<Utc>) {
        let tries = self.tries.entry(key).or_insert(Tries {
            failures: 0,
            free_at: now,
            last: now,
        });
        if now - tries.last >= REST {
            tries.failures = 0;
        }
        tries.failures = tries.failures.saturating_add(1);
        tries.free_at = now + TimeDelta::seconds(wait.after(tries.failures));
        tries.last = now;
    }

    /// A try that was counted and did not fail.
    fn give_back(&mut self, key: &Key, now: DateTime<Utc>) {
        if let Some(tries) = self.tries.get_mut(key) {
            tries.failures = tries.failures.saturating_sub(1);
            tries.free_at = now;
        }
    }

    /// Forgets what has rested, at most once a second; and where that is not enough what has tried least.
    fn sweep(&mut self, now: DateTime<Utc>) {
        if self.tries.len() <= MOST_KEYS && self.known.len() <= MOST_KEYS || self.swept.is_some_and(|at| (now - at).num_seconds().abs() < 1) {
            return;
        }
        self.swept = Some(now);
        self.tries.retain(|_, tries| now - tries.last < REST);
        for least in [1, 5, u32::MAX] {
            if self.tries.len() <= MOST_KEYS {
                break;
            }
            self.tries.retain(|_, tries| tries.failures > least);
        }
        if self.known.len() > MOST_KEYS {
            self.known.clear();
        }
    }
}

/// How often passwords may be tried. What succeeds is not counted.
///
/// Tries for an email wait longer and longer, whatever network they come from; but a network from which the account was signed in to,
/// or its sign-in refreshed, has tries of its own, so that a stranger who keeps trying never locks the owner out of the station or the
/// own home. Each process counts for itself and forgets at its end; the networks it learns again at the next refresh.
#[derive(Default)]
pub struct SignInLimits(Mutex<Counted>);

/// A try that is on its way: counted as failed until it is [told](SignInLimits::succeeded) otherwise.
#[derive(Debug, Clone)]
pub struct Try {
    email: Key,
    network: Key,
    counted: Vec<Key>,
}

impl SignInLimits {
    /// Counts a try, or says when the next one is free.
    pub fn count(&self, email: &Email, from: Option<IpAddr>, now: DateTime<Utc>) -> Result<Try, Fault> {
        let network = key(&["network", &network_of(from).to_string()]);
        let account = key(&["email", email.as_str()]);
        let here = key(&["here", email.as_str(), &network_of(from).to_string()]);
        let mut counted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        counted.sweep(now);
        let known = counted.known.get(&account).is_some_and(|networks| networks.contains(&network));
        let mut bounds = vec![(here, HERE)];
        if !known {
            bounds.extend([(account, ELSEWHERE), (network, NETWORK), (key(&["all"]), ALL)]);
        }
        let wait = bounds.iter().map(|(key, _)| counted.wait(key, now)).max().unwrap_or_default();
        if wait > 0 {
            let words = "Too many tries to sign in; wait as long as Retry-After says before the next, or ask an admin for a new password";
            return Err(slow_down(words, wait.unsigned_abs()));
        }
        for (key, wait) in &bounds {
            counted.fail(*key, *wait, now);
        }
        Ok(Try {
            email: account,
            network,
            counted: bounds.into_iter().map(|(key, _)| key).collect(),
        })
    }

    /// The try was none: the password was right, or nobody looked at it.
    pub fn give_back(&self, given: &Try, now: DateTime<Utc>) {
        let mut counted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        for key in &given.counted {
            counted.give_back(key, now);
        }
    }

    /// The password was right: what failed from here before is forgotten, and the network is known from now on.
    pub fn succeeded(&self, given: &Try, now: DateTime<Utc>) {
        self.give_back(given, now);
        let mut counted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(here) = given.counted.first() {
            counted.tries.remove(here);
        }
        know(&mut counted, given.email, given.network);
    }

    /// The account is in use from this network.
    pub fn knows(&self, email: &Email, from: Option<IpAddr>) {
        let network = key(&["network", &network_of(from).to_string()]);
        let mut counted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        know(&mut counted, key(&["email", email.as_str()]), network);
    }
}

fn know(counted: &mut Counted, account: Key, network: Key) {
    let networks = counted.known.entry(account).or_default();
    networks.retain(|known| *known != network);
    networks.push_back(network);
    if networks.len() > MOST_KNOWN {
        networks.pop_front();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn email(text: &str) -> Email {
        Email::read(text).unwrap()
    }

    fn from(last: u32) -> Option<IpAddr> {
        Some(IpAddr::V4(std::net::Ipv4Addr::from_bits(0x0a00_0000 + last)))
    }

    fn waits(limits: &SignInLimits, who: &Email, from: Option<IpAddr>, now: DateTime<Utc>) -> u64 {
        match limits.count(who, from, now) {
            Ok(_) => 0,
            Err(fault) => fault.retry_after.unwrap(),
        }
    }

    #[test]
    fn the_wait_grows_and_ends() {
        let (limits, who, mut now) = (SignInLimits::default(), email("crew@harrow.example"), DateTime::UNIX_EPOCH);
        let mut told = Vec::new();
        for _ in 0..20 {
            let wait = waits(&limits, &who, from(1), now);
            if wait > 0 {
                told.push(wait);
                now += TimeDelta::seconds(i64::try_from(wait).unwrap());
                assert_eq!(waits(&limits, &who, from(1), now), 0, "the wait that was told is the true one");
            }
        }
        assert!(
            told.windows(2).all(|pair| pair[0] <= pair[1]) && told.last() == Some(&900) || told.last() > Some(&500),
            "{told:?}"
        );
        assert!(told.iter().all(|wait| *wait <= 901), "{told:?}");
        now += TimeDelta::seconds(901);
        let right = limits.count(&who, from(1), now).unwrap();
        limits.succeeded(&right, now);
        assert!((0..5).all(|_| waits(&limits, &who, from(1), now) == 0), "a right password begins anew");
    }

    #[test]
    fn strangers_from_many_networks_slow_each_other_and_not_the_owner() {
        let (limits, who, now) = (SignInLimits::default(), email("crew@harrow.example"), DateTime::UNIX_EPOCH);
        let right = limits.count(&who, from(1), now).unwrap();
        limits.succeeded(&right, now);
        let taken = (0..500).filter(|network| waits(&limits, &who, from(100 + network), now) == 0).count();
        assert_eq!(taken, 20, "one email has twenty tries from all the networks that nobody knows");
        assert!((0..5).all(|_| waits(&limits, &who, from(1), now) == 0), "its own network still signs in");
        let (other, place) = (email("officer@harrow.example"), from(7));
        assert!(waits(&limits, &other, place, now) == 0);
    }

    #[test]
    fn one_network_does_not_walk_through_all_emails() {
        let (limits, now) = (SignInLimits::default(), DateTime::UNIX_EPOCH);
        let taken = |network: u32, name: &str| {
            (0..200)
                .filter(|n| waits(&limits, &email(&format!("{name}{n}@harrow.example")), from(network), now) == 0)
                .count()
        };
        assert_eq!(taken(1, "a"), 60);
        let all: usize = (2..40).map(|network| taken(network, &format!("n{network}x"))).sum();
        assert_eq!(all, 540, "six hundred from all of them");
    }

    #[test]
    fn what_has_rested_for_a_day_is_forgotten() {
        let (limits, who, now) = (SignInLimits::default(), email("crew@harrow.example"), DateTime::UNIX_EPOCH);
        let tried = |now| (0..6).filter(|_| waits(&limits, &who, from(1), now) == 0).count();
        assert_eq!(tried(now), 5);
        assert_eq!(tried(now + TimeDelta::hours(23)), 1);
        assert_eq!(tried(now + TimeDelta::hours(23) + REST), 5);
    }

    #[test]
    fn keys_are_as_many_as_they_may_be() {
        let mut counted = Counted::default();
        for n in 0..=MOST_KEYS {
            counted.fail(key(&[&n.to_string()]), HERE, DateTime::UNIX_EPOCH);
        }
        let dear = key(&["dear"]);
        (0..9).for_each(|_| counted.fail(dear, HERE, DateTime::UNIX_EPOCH));
        counted.sweep(DateTime::UNIX_EPOCH + TimeDelta::seconds(5));
        assert!(counted.tries.len() == 1 && counted.tries.contains_key(&dear), "who has tried most is kept");
    }
}
