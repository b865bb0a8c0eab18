//! How another server is asked: what its name resolves to is looked at where the connection is made, so that a name cannot lead
//! elsewhere between the check and the asking; redirects and proxies are not followed, and no cookie is kept.

use std::{io, net::SocketAddr, sync::Arc, time::Duration};

use futures_util::future::BoxFuture;
use reqwest::{
    Client,
    dns::{Addrs, Name, Resolve, Resolving},
    redirect::Policy,
};

use super::{Outward, special_network};

/// The longest wait for a connection.
const CONNECT: Duration = Duration::from_secs(5);
/// Who asks.
const USER_AGENT: &str = concat!("fullset/", env!("CARGO_PKG_VERSION"));

/// Looks a name up.
type Lookup = Arc<dyn Fn(String) -> BoxFuture<'static, io::Result<Vec<SocketAddr>>> + Send + Sync>;

/// Resolves names to public addresses alone, unless all are allowed.
#[derive(Clone)]
struct Guard {
    outward: Outward,
    lookup: Lookup,
}

impl Guard {
    async fn addresses(self, host: String) -> Result<Vec<SocketAddr>, io::Error> {
        let found = (self.lookup)(host.clone()).await?;
        let inward = found.iter().find_map(|address| special_network(address.ip()));
        match inward.filter(|_| self.outward != Outward::Any) {
            // One such address among others is refused as a whole: which one would be tried is up to chance.
            Some(what) => Err(io::Error::other(format!("{host} leads to an address {what}"))),
            None => Ok(found),
        }
    }
}

impl Resolve for Guard {
    fn resolve(&self, name: Name) -> Resolving {
        let (guard, host) = (self.clone(), name.as_str().to_owned());
        Box::pin(async move {
            let addresses = guard.addresses(host).await?;
            Ok(Box::new(addresses.into_iter()) as Addrs)
        })
    }
}

/// What asks, and waits so long for the whole of an answer. An address is to be checked before each asking
/// ([`checked_address`](super::checked_address)): one in numbers is not looked up.
pub fn client(outward: Outward, answer: Duration) -> reqwest::Result<Client> {
    let lookup: Lookup = Arc::new(|host: String| -> BoxFuture<'static, _> { Box::pin(async move { Ok(tokio::net::lookup_host((host, 0)).await?.collect()) }) });
    guarded(Guard { outward, lookup }, answer)
}

fn guarded(guard: Guard, answer: Duration) -> reqwest::Result<Client> {
    Client::builder()
        .user_agent(USER_AGENT)
        .dns_resolver(Arc::new(guard))
        .redirect(Policy::none())
        .referer(false)
        .no_proxy()
        .connect_timeout(CONNECT)
        .timeout(answer)
        // Each asking looks the name up anew.
        .pool_max_idle_per_host(0)
        .build()
}

/// What stood in the way of one that waits so long for an answer, in a sentence.
pub fn why(error: &reqwest::Error, answer: Duration) -> String {
    if error.is_timeout() {
        return format!("It did not answer within {} seconds", answer.as_secs());
    }
    // The innermost cause says what happened; what is around it names the address again.
    let mut cause: &dyn std::error::Error = error;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    let words: String = cause.to_string().chars().filter(|sign| !sign.is_control()).take(200).collect();
    if error.is_connect() {
        format!("It was not reached: {words}")
    } else {
        format!("The connection broke off: {words}")
    }
}

#[cfg(test)]
mod tests {
    use std::net::{IpAddr, Ipv4Addr, TcpListener};

    use super::*;

    /// Why an address was not reached by one for whom every name leads to these.
    async fn unreached(outward: Outward, addresses: &[IpAddr], address: &str) -> String {
        let addresses = addresses.to_vec();
        let lookup: Lookup = Arc::new(move |_| -> BoxFuture<'static, _> {
            let found = addresses.iter().map(|ip| SocketAddr::new(*ip, 0)).collect();
            Box::pin(async move { Ok(found) })
        });
        let answer = Duration::from_secs(1);
        let client = guarded(Guard { outward, lookup }, answer).expect("a client");
        let error = client.get(address).send().await.expect_err("nobody answers there");
        why(&error, answer)
    }

    #[tokio::test]
    async fn a_name_that_leads_into_the_own_network_is_not_asked() {
        let own = TcpListener::bind("127.0.0.1:0").expect("a port");
        own.set_nonblocking(true).expect("no waiting");
        let address = format!("https://dispatch.example.org:{}/", own.local_addr().expect("an address").port());
        let loopback = IpAddr::V4(Ipv4Addr::LOCALHOST);
        let public: IpAddr = "93.184.216.34".parse().expect("an address");
        for addresses in [vec![loopback], vec![public, loopback], vec!["::ffff:10.0.0.1".parse().expect("an address")]] {
            let why = unreached(Outward::Public, &addresses, &address).await;
            assert!(why.contains("dispatch.example.org leads to an address"), "{why}");
        }
        assert!(own.accept().is_err(), "nobody knocked");
        // The same name is asked where the operator allows it, so the test would see it.
        unreached(Outward::Any, &[loopback], &address.replace("https", "http")).await;
        assert!(own.accept().is_ok(), "somebody knocked");
    }
}
