//! Messages of every method, made at random after the contract and then damaged: whatever comes,
//! the daemon answers or refuses, and neither it nor its writer breaks down.
//!
//! Some messages of each method in the suite; with `LOCKRING_FUZZ_SECONDS` for so long, with
//! `LOCKRING_SEED` another course.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use prost::Message as _;
use prost::bytes::{Buf as _, BufMut as _};
use prost_types::field_descriptor_proto::{Label, Type};
use prost_types::{DescriptorProto, FieldDescriptorProto, FileDescriptorSet};
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::transport::Channel;
use tonic::{Code, Status};

use super::requests::REQUESTS;
use crate::support::rpc::{block_on, connect};
use crate::support::seed::{Seed, whole};
use crate::support::{PATIENCE, Shop};

/// What would end the daemon, write elsewhere on this machine, have it run a program or keep
/// everybody else out.
const LEFT_OUT: [&str; 6] = [
    "Shop/Stop",
    "Shop/Backup",
    "Desk/Set",
    "Desk/AddPerson",
    "Desk/PersonLeaves",
    "Access/MakePair",
];
/// Fields that are seldom set.
const RARE: [&str; 5] = [
    "expected_revision",
    "made_at_us",
    "validate_only",
    "page_token",
    "on",
];
/// Messages of each method in the suite.
const FEW: u32 = 6;

/// Texts that fields are made of.
const TEXTS: [&str; 26] = [
    "",
    "K",
    "1",
    "-1",
    "0",
    "51,5 mm",
    "12 %",
    "1e999",
    "NaN",
    "motor",
    "pack",
    "hill-grade",
    "hub-36-250",
    "intake",
    "parts",
    "measure",
    "torque",
    "ride",
    "2026-03-02",
    "2026-02-30",
    "eu-25",
    "L-1..L-9",
    "S*",
    "../../x",
    "\u{0}\u{202e}é",
    "chainline.largest_cog",
];

/// The contract.
struct Contract {
    messages: BTreeMap<String, DescriptorProto>,
    /// Paths with the name of what they take.
    methods: Vec<(String, String)>,
}

impl Contract {
    fn read() -> Self {
        let set = FileDescriptorSet::decode(lockring_proto::DESCRIPTORS).unwrap();
        let (mut messages, mut methods) = (BTreeMap::new(), Vec::new());
        for file in &set.file {
            for message in &file.message_type {
                messages.insert(format!(".{}.{}", file.package(), message.name()), message.clone());
            }
            for service in &file.service {
                for method in &service.method {
                    let short = format!("{}/{}", service.name(), method.name());
                    if !LEFT_OUT.contains(&short.as_str()) {
                        let path = format!("/{}.{short}", file.package());
                        methods.push((path, method.input_type().to_owned()));
                    }
                }
            }
        }
        Self { messages, methods }
    }

    /// A message with fields drawn at random, of the types that they have.
    fn message(&self, name: &str, seed: &mut Seed, depth: u32) -> Vec<u8> {
        let mut bytes = Vec::new();
        let Some(message) = self.messages.get(name) else {
            return bytes;
        };
        for field in &message.field {
            let is_origin = field.type_name() == ".lockring.v1.Origin";
            let times = match field.label() {
                Label::Repeated => seed.below(3),
                _ if is_origin => 1,
                // These make most requests wrong, or only looked at.
                _ if RARE.contains(&field.name()) => u64::from(seed.below(12) == 0),
                _ => u64::from(seed.below(4) > 0),
            };
            for _ in 0..times {
                self.field(field, &mut bytes, seed, depth);
            }
        }
        bytes
    }

    fn field(&self, field: &FieldDescriptorProto, bytes: &mut Vec<u8>, seed: &mut Seed, depth: u32) {
        let tag = |wire: u32| u64::from(field.number().cast_unsigned() << 3 | wire);
        let number = |seed: &mut Seed| match seed.below(10) {
            0 => 0,
            1 => u64::MAX,
            2 => seed.number(),
            _ => 1 + seed.below(4),
        };
        match field.r#type() {
            Type::Double | Type::Fixed64 | Type::Sfixed64 => {
                varint(bytes, tag(1));
                bytes.put_u64_le(number(seed));
            }
            Type::Float | Type::Fixed32 | Type::Sfixed32 => {
                varint(bytes, tag(5));
                bytes.put_u32_le(number(seed) as u32);
            }
            Type::String | Type::Bytes => self.chunk(tag(2), text(field.name(), seed).as_bytes(), bytes),
            Type::Message | Type::Group if depth > 0 => {
                let inner = self.message(field.type_name(), seed, depth - 1);
                self.chunk(tag(2), &inner, bytes);
            }
            Type::Message | Type::Group => {}
            _ => {
                varint(bytes, tag(0));
                varint(bytes, number(seed));
            }
        }
    }

    fn chunk(&self, tag: u64, content: &[u8], bytes: &mut Vec<u8>) {
        varint(bytes, tag);
        varint(bytes, content.len() as u64);
        bytes.extend_from_slice(content);
    }
}

/// A text for a field; who asks is mostly somebody, and a request id is one of its own.
fn text(name: &str, seed: &mut Seed) -> String {
    match (name, seed.below(8)) {
        ("by", 1..) => "K".into(),
        ("request_id", 1..) => format!("{:016x}", seed.number()),
        (_, 0) => "x".repeat(seed.below(3000) as usize),
        _ => TEXTS[seed.below(TEXTS.len() as u64) as usize].into(),
    }
}

fn varint(bytes: &mut Vec<u8>, mut value: u64) {
    while value > 0x7f {
        bytes.push(value as u8 | 0x80);
        value >>= 7;
    }
    bytes.push(value as u8);
}

fn damage(bytes: &mut Vec<u8>, seed: &mut Seed) {
    for _ in 0..=seed.below(4) {
        let at = seed.below(bytes.len() as u64 + 1) as usize;
        match seed.below(4) {
            0 if at < bytes.len() => bytes[at] ^= 1 << seed.below(8),
            1 => bytes.truncate(at),
            2 => bytes.insert(at, seed.number() as u8),
            _ => drop(bytes.drain(at..bytes.len().min(at + 3))),
        }
    }
}

/// Bytes as they are, both ways.
#[derive(Clone, Copy, Default)]
struct Raw;

impl Codec for Raw {
    type Encode = Vec<u8>;
    type Decode = usize;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        Self
    }

    fn decoder(&mut self) -> Self {
        Self
    }
}

impl Encoder for Raw {
    type Item = Vec<u8>;
    type Error = Status;

    fn encode(&mut self, item: Vec<u8>, to: &mut EncodeBuf<'_>) -> Result<(), Status> {
        to.put_slice(&item);
        Ok(())
    }
}

impl Decoder for Raw {
    type Item = usize;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<usize>, Status> {
        let length = from.remaining();
        from.advance(length);
        Ok(Some(length))
    }
}

/// Sends one message and reads the first of what comes; a watch says nothing for ever.
async fn call(channel: &Channel, path: &str, message: Vec<u8>) -> Result<(), Status> {
    let mut client = tonic::client::Grpc::new(channel.clone());
    client
        .ready()
        .await
        .map_err(|error| Status::unavailable(error.to_string()))?;
    let answer = client.server_streaming(tonic::Request::new(message), path.parse().unwrap(), Raw);
    let mut answer = tokio::time::timeout(PATIENCE, answer)
        .await
        .expect("an answer")?
        .into_inner();
    if path.ends_with("/Watch") {
        return Ok(());
    }
    let first = tokio::time::timeout(PATIENCE, answer.message()).await;
    first.expect("an answer").map(|_| ())
}

#[test]
fn messages_of_every_method_made_at_random_and_damaged_are_answered_or_refused() {
    let shop = Shop::with_demo_jobs();
    let contract = Contract::read();
    assert!(contract.methods.len() > 80 && contract.messages.len() > 150);
    let mut seed = Seed::from_environment();
    let length = Duration::from_secs(whole("LOCKRING_FUZZ_SECONDS", 0));
    let begun = Instant::now();
    let mut came: BTreeMap<String, u64> = BTreeMap::new();
    let mut rounds = 0;
    block_on(async {
        let mut channel = connect(&shop).await;
        while rounds < FEW || begun.elapsed() < length {
            for (path, takes) in &contract.methods {
                let mut message = contract.message(takes, &mut seed, 3);
                if seed.below(3) == 0 {
                    damage(&mut message, &mut seed);
                }
                let sent = message.escape_ascii().to_string();
                let reads = REQUESTS
                    .iter()
                    .find(|(name, _)| takes.ends_with(&format!(".{name}")));
                let can_be_read = reads.expect("every request is listed").1(&message);
                let answer = call(&channel, path, message).await;
                let code = answer.as_ref().map_or_else(Status::code, |()| Code::Ok);
                *came.entry(format!("{code:?}")).or_default() += 1;
                let Err(status) = answer else { continue };
                // What cannot be read is refused before any service sees it, as INTERNAL.
                let unread = !can_be_read && status.message().to_lowercase().contains("decode");
                assert!(
                    unread || !matches!(code, Code::Internal | Code::Unknown | Code::DataLoss),
                    "{path} {sent}: {status}"
                );
                if code == Code::Unavailable {
                    channel = connect(&shop).await;
                }
            }
            rounds += 1;
        }
    });
    eprintln!(
        "{rounds} messages of each of {} methods: {came:?}",
        contract.methods.len()
    );
    let said = std::fs::read_to_string(shop.said()).unwrap();
    for bad in ["panicked", "broke down", "ERROR"] {
        assert!(!said.contains(bad), "{said}");
    }
    assert!(
        came["Ok"] > u64::from(FEW) * 15,
        "too little gets through: {came:?}"
    );
    let verified = shop.json("verify")[0].clone();
    assert_eq!(verified["sound"], true, "{verified}");
}
