//! The page for the wall: off until an address is set, to this machine alone, and never more than
//! looking.

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use crate::support::{PATIENCE, Shop};

/// A port that was free a moment ago.
fn free_address() -> SocketAddr {
    std::net::TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
}

fn ask(address: SocketAddr, request: &str) -> Option<String> {
    let mut stream = TcpStream::connect(address).ok()?;
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    Some(answer)
}

fn get(address: SocketAddr, path: &str) -> String {
    let request = format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    ask(address, &request).expect("somebody answers")
}

fn wait_for(address: SocketAddr, there: bool) {
    let begun = Instant::now();
    while TcpStream::connect(address).is_ok() != there {
        assert!(
            begun.elapsed() < PATIENCE,
            "the page is still {}there",
            if there { "not " } else { "" }
        );
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn it_is_shown_where_the_shop_says_and_tells_of_every_change() {
    let shop = Shop::with_demo_jobs();
    let address = free_address();
    shop.line("settings set wall-address 0.0.0.0:8090").fails(4);
    let told = shop.line(&format!("settings set wall-address {address}")).ok();
    assert!(told.contains("nothing can be changed there"), "{told}");
    wait_for(address, true);
    shop.line("brief 1 contact=ines@example.invalid").ok();
    let page = get(address, "/");
    assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    for word in ["Ines H.", "Tomas V.", "Dana K.", "to move"] {
        assert!(page.contains(word), "{word} is not in {page}");
    }
    assert!(
        !page.contains("example.invalid"),
        "a way to reach the rider is on the wall"
    );
    assert!(
        page.contains("content-security-policy: default-src 'none'"),
        "{page}"
    );
    assert!(get(address, "/wall.js").contains("EventSource"));
    assert!(get(address, "/jobs").starts_with("HTTP/1.1 404"));
    let post =
        format!("POST / HTTP/1.1\r\nHost: {address}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
    assert!(ask(address, &post).unwrap().starts_with("HTTP/1.1 405"));
    let other = "GET / HTTP/1.1\r\nHost: shop.example\r\nConnection: close\r\n\r\n";
    let refused = ask(address, other).unwrap();
    assert!(
        refused.starts_with("HTTP/1.1 421") && !refused.contains("Ines"),
        "{refused}"
    );

    let mut changes = TcpStream::connect(address).unwrap();
    changes.set_read_timeout(Some(PATIENCE)).unwrap();
    write!(changes, "GET /changes HTTP/1.1\r\nHost: {address}\r\n\r\n").unwrap();
    let mut heard = String::new();
    let mut hear_until = |word: &str| {
        while !heard.contains(word) {
            let mut piece = [0; 1024];
            let length = changes.read(&mut piece).unwrap();
            assert!(length > 0, "the stream ended: {heard}");
            heard.push_str(std::str::from_utf8(&piece[..length]).unwrap());
        }
    };
    hear_until("text/event-stream");
    shop.line("note 1 seen on the wall").ok();
    hear_until("data: changed");

    shop.line("settings set wall-address --shipped").ok();
    wait_for(address, false);
}
