//! The contract as another client sees it: health, refusals with details, many clients at once.

mod damaged;
mod requests;

use lockring_proto::PROTOCOL;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{Assignment, HelloRequest, NoteRequest, RecordRequest, ShowJobRequest};

use crate::support::Shop;
use crate::support::rpc::{block_on, connect, connect_silently, hello, origin};

#[test]
fn thirty_two_clients_on_one_job_and_on_others_lose_nothing() {
    let shop = Shop::with_demo_jobs();
    let notes = 20;
    block_on(async {
        let mut clients = Vec::new();
        for client in 0..32u32 {
            let channel = connect(&shop).await;
            clients.push(tokio::spawn(async move {
                let mut jobs = JobsClient::new(channel);
                for number in 0..notes {
                    // Half of them share job 1, the others spread over jobs 2 and 3.
                    let job = if client % 2 == 0 { 1 } else { 2 + client % 4 / 2 };
                    let id = format!("client-{client}-{number}");
                    let request = NoteRequest {
                        origin: origin(&id),
                        job,
                        text: id.clone(),
                    };
                    jobs.note(request)
                        .await
                        .unwrap_or_else(|status| panic!("{id}: {status}"));
                }
            }));
        }
        for client in clients {
            client.await.unwrap();
        }
    });
    let mut texts = Vec::new();
    for job in 1..=3 {
        let lines = shop.json(&format!("history {job}"));
        let seqs: Vec<u64> = lines.iter().map(|line| line["seq"].as_u64().unwrap()).collect();
        assert!(
            seqs.iter().enumerate().all(|(at, seq)| *seq == at as u64 + 1),
            "job {job} has gaps"
        );
        texts.extend(lines.iter().map(|line| line["text"].as_str().unwrap().to_owned()));
    }
    for client in 0..32 {
        for number in 0..notes {
            let note = format!("note: client-{client}-{number}");
            assert_eq!(texts.iter().filter(|text| **text == note).count(), 1, "{note}");
        }
    }
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_retry_with_the_same_request_id_gets_the_first_answer() {
    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        let request = NoteRequest {
            origin: origin("same"),
            job: 1,
            text: "once".into(),
        };
        let first = jobs.note(request.clone()).await.unwrap().into_inner();
        let second = jobs.note(request).await.unwrap().into_inner();
        assert!(!first.repeated && second.repeated);
        assert_eq!(first.revision, second.revision);
    });
    let noted = shop
        .json("history 1")
        .iter()
        .filter(|line| line["text"] == "note: once")
        .count();
    assert_eq!(noted, 1);
}

#[test]
fn a_request_without_an_id_is_refused() {
    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        for id in ["", &"x".repeat(65)] {
            let status = jobs
                .note(NoteRequest {
                    origin: origin(id),
                    job: 1,
                    text: "a".into(),
                })
                .await
                .unwrap_err();
            assert_eq!(status.code(), tonic::Code::InvalidArgument, "{status}");
        }
        let status = jobs
            .note(NoteRequest {
                origin: None,
                job: 1,
                text: "a".into(),
            })
            .await
            .unwrap_err();
        assert_eq!(status.code(), tonic::Code::InvalidArgument, "{status}");
    });
}

#[test]
fn a_stale_revision_is_aborted_and_a_missing_job_not_found() {
    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        let mut stale = origin("stale").unwrap();
        stale.expected_revision = Some(1);
        let request = NoteRequest {
            origin: Some(stale),
            job: 1,
            text: "a".into(),
        };
        assert_eq!(jobs.note(request).await.unwrap_err().code(), tonic::Code::Aborted);
        let status = jobs
            .show(ShowJobRequest {
                job: 99,
                ..ShowJobRequest::default()
            })
            .await
            .unwrap_err();
        assert_eq!(status.code(), tonic::Code::NotFound);
        assert!(!status.details().is_empty(), "a refusal carries details");
    });
}

#[test]
fn a_client_of_another_protocol_or_folder_is_told_both_sides() {
    let shop = Shop::open();
    block_on(async {
        let mut client = ShopClient::new(connect_silently(&shop.folder()).await.unwrap());
        let good = hello(&shop.folder());
        client.hello(good.clone()).await.unwrap();
        let newer = HelloRequest {
            protocol: PROTOCOL + 1,
            ..good.clone()
        };
        let status = client.hello(newer).await.unwrap_err();
        assert_eq!(status.code(), tonic::Code::FailedPrecondition);
        assert!(status.message().contains(&(PROTOCOL + 1).to_string()), "{status}");
        let elsewhere = HelloRequest {
            data_folder: "/elsewhere".into(),
            ..good
        };
        let status = client.hello(elsewhere).await.unwrap_err();
        assert_eq!(status.code(), tonic::Code::FailedPrecondition);
        assert!(status.message().contains("/elsewhere"), "{status}");
    });
}

#[test]
fn nonsense_in_every_field_is_refused_and_never_ends_the_daemon() {
    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        for (act, run) in [
            ("", ""),
            ("dance", ""),
            ("ride", ""),
            ("ride", "\u{0}"),
            ("measure", "hill"),
        ] {
            let request = RecordRequest {
                origin: origin(&format!("nonsense {act} {run}")),
                job: 1,
                act: act.into(),
                run: run.into(),
                values: Vec::new(),
                force: true,
                anew: true,
            };
            let status = jobs.record(request).await.unwrap_err();
            assert_eq!(
                status.code(),
                tonic::Code::InvalidArgument,
                "{act} {run}: {status}"
            );
        }
    });
    shop.line("jobs").ok();
}

#[test]
fn health_and_reflection_answer_as_the_standard_services_do() {
    use tonic_health::pb::HealthCheckRequest;
    use tonic_health::pb::health_check_response::ServingStatus;
    use tonic_health::pb::health_client::HealthClient;
    use tonic_reflection::pb::v1::ServerReflectionRequest;
    use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
    use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;
    use tonic_reflection::pb::v1::server_reflection_response::MessageResponse;

    let shop = Shop::open();
    block_on(async {
        // Health and reflection answer whoever asks, before any Hello.
        let channel = connect_silently(&shop.folder()).await.unwrap();
        for service in ["", "lockring.v1.Jobs", "lockring.v1.Shop"] {
            let request = HealthCheckRequest {
                service: service.into(),
            };
            let health = HealthClient::new(channel.clone())
                .check(request)
                .await
                .unwrap()
                .into_inner();
            assert_eq!(health.status(), ServingStatus::Serving, "{service}");
        }
        let ask = ServerReflectionRequest {
            host: String::new(),
            message_request: Some(MessageRequest::ListServices(String::new())),
        };
        let mut answers = ServerReflectionClient::new(channel)
            .server_reflection_info(tokio_stream::once(ask))
            .await
            .unwrap()
            .into_inner();
        let answer = answers.message().await.unwrap().unwrap();
        let Some(MessageResponse::ListServicesResponse(list)) = answer.message_response else {
            panic!("{answer:?}");
        };
        let names: Vec<String> = list.service.into_iter().map(|service| service.name).collect();
        for service in ["Jobs", "Catalogue", "Reports", "Shop"] {
            assert!(names.contains(&format!("lockring.v1.{service}")), "{names:?}");
        }
    });
}

#[test]
fn a_refusal_carries_its_reason_its_variables_its_hint_and_its_fields() {
    use tonic_types::StatusExt;

    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        let request = RecordRequest {
            origin: origin("bad reading"),
            job: 2,
            act: "measure".into(),
            run: String::new(),
            values: vec![Assignment {
                field: "clf".into(),
                value: "515".into(),
            }],
            force: false,
            anew: false,
        };
        let status = jobs.record(request).await.unwrap_err();
        let details = status.get_error_details();
        let info = details.error_info().unwrap();
        assert_eq!(
            (info.reason.as_str(), info.domain.as_str()),
            ("OUTSIDE_WINDOW", lockring_proto::ERROR_DOMAIN)
        );
        assert_eq!(info.metadata["field"], "chainline-front");
        assert!(info.metadata["hint"].contains("51.5 mm"), "{:?}", info.metadata);
        let fields = &details.bad_request().unwrap().field_violations;
        assert_eq!(fields[0].field, "chainline-front");
    });
}

/// A client need not wait for the answer to Hello: what it sends along is done when both agree, and
/// not at all when they do not.
#[test]
fn what_is_sent_along_with_hello_waits_for_it() {
    use tonic_types::StatusExt;

    let shop = Shop::with_demo_jobs();
    let folder = shop.folder();
    let note = |id: String| NoteRequest {
        origin: origin(&id),
        job: 1,
        text: id,
    };
    block_on(async {
        for turn in 0..20 {
            let channel = connect_silently(&folder).await.unwrap();
            let (mut shop, mut jobs) = (ShopClient::new(channel.clone()), JobsClient::new(channel));
            let along = note(format!("along {turn}"));
            let (greeted, noted) = tokio::join!(shop.hello(hello(&folder)), jobs.note(along));
            greeted.unwrap();
            noted.unwrap();
        }
        for turn in 0..20 {
            let channel = connect_silently(&folder).await.unwrap();
            let (mut shop, mut jobs) = (ShopClient::new(channel.clone()), JobsClient::new(channel));
            let wrong = HelloRequest {
                protocol: PROTOCOL + 1,
                ..hello(&folder)
            };
            let along = note(format!("refused {turn}"));
            let (greeted, noted) = tokio::join!(shop.hello(wrong), jobs.note(along));
            greeted.unwrap_err();
            let details = noted.unwrap_err().get_error_details();
            assert_eq!(details.error_info().unwrap().reason, "NOT_GREETED");
        }
    });
    let history = shop.run(["history", "1"]).ok();
    assert!(
        history.contains("along 19") && !history.contains("refused"),
        "{history}"
    );
}

/// Every method of the contract, called before Hello: none is answered but those by which
/// programs of two versions look at each other. A method that is added is closed by itself.
#[test]
fn before_hello_nothing_is_answered_but_what_two_versions_need() {
    use tonic_types::StatusExt;

    let shop = Shop::with_demo_jobs();
    let open = ["Shop/Hello", "Shop/Status", "Shop/Stop"];
    let methods = methods();
    assert!(methods.len() > 30, "only {} methods found", methods.len());
    block_on(async {
        let channel = connect_silently(&shop.folder()).await.unwrap();
        for method in methods
            .iter()
            .filter(|method| !open.iter().any(|open| method.ends_with(open)))
        {
            let status = call_with_nothing(&channel, method).await.unwrap_err();
            assert_eq!(
                status.code(),
                tonic::Code::FailedPrecondition,
                "{method}: {status}"
            );
            let details = status.get_error_details();
            let info = details
                .error_info()
                .unwrap_or_else(|| panic!("{method}: {status}"));
            assert_eq!(info.reason, "NOT_GREETED", "{method}");
            assert!(info.metadata["hint"].contains("Shop/Hello"), "{method}");
        }
        // Greeting one connection opens that one only.
        let greeted = connect(&shop).await;
        call_with_nothing(&greeted, "/lockring.v1.Jobs/List")
            .await
            .unwrap();
        call_with_nothing(&channel, "/lockring.v1.Jobs/List")
            .await
            .unwrap_err();
        // A Hello that was refused opens nothing.
        let wrong = HelloRequest {
            protocol: PROTOCOL + 1,
            ..hello(&shop.folder())
        };
        ShopClient::new(channel.clone()).hello(wrong).await.unwrap_err();
        call_with_nothing(&channel, "/lockring.v1.Jobs/List")
            .await
            .unwrap_err();
    });
}

/// The paths of all methods, read off the contract itself.
fn methods() -> Vec<String> {
    use prost::Message;

    let set = prost_types::FileDescriptorSet::decode(lockring_proto::DESCRIPTORS).unwrap();
    set.file
        .iter()
        .flat_map(|file| file.service.iter().map(move |service| (file.package(), service)))
        .flat_map(|(package, service)| {
            let path = move |method: &prost_types::MethodDescriptorProto| {
                format!("/{package}.{}/{}", service.name(), method.name())
            };
            service.method.iter().map(path)
        })
        .collect()
}

/// Calls a method with an empty message and leaves its first answer unread.
async fn call_with_nothing(channel: &tonic::transport::Channel, method: &str) -> Result<(), tonic::Status> {
    let mut client = tonic::client::Grpc::new(channel.clone());
    client
        .ready()
        .await
        .map_err(|error| tonic::Status::unknown(error.to_string()))?;
    let path = method.parse().unwrap();
    let codec = tonic_prost::ProstCodec::<(), ()>::default();
    let answer = client
        .server_streaming(tonic::Request::new(()), path, codec)
        .await?;
    answer.into_inner().message().await.map(|_| ())
}

#[test]
fn a_request_id_with_something_else_in_it_is_refused_and_not_answered_as_a_retry() {
    use tonic_types::StatusExt;

    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        let request = |job, text: &str| NoteRequest {
            origin: origin("one id"),
            job,
            text: text.into(),
        };
        jobs.note(request(1, "first")).await.unwrap();
        for other in [request(1, "second"), request(2, "first")] {
            let status = jobs.note(other).await.unwrap_err();
            assert_eq!(status.code(), tonic::Code::InvalidArgument, "{status}");
            let details = status.get_error_details();
            let info = details.error_info().unwrap();
            assert_eq!(
                (info.reason.as_str(), info.metadata["request_id"].as_str()),
                ("REQUEST_ID_REUSED", "one id")
            );
        }
        assert!(
            jobs.note(request(1, "first"))
                .await
                .unwrap()
                .into_inner()
                .repeated
        );
    });
    assert_eq!(
        shop.json("history 2")
            .iter()
            .filter(|line| line["text"] == "note: first")
            .count(),
        0
    );
}
