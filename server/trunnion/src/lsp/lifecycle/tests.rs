use futures::future::{BoxFuture, FutureExt, ready};
use serde_json::json;

use super::*;

/// Answers `good` and `initialize`, and does odd things on other methods.
struct Odd;

impl Service<Request> for Odd {
    type Response = Option<Reply>;
    type Error = ExitedError;
    type Future = BoxFuture<'static, Result<Option<Reply>, ExitedError>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), ExitedError>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: Request) -> Self::Future {
        let (method, id, params) = request.into_parts();
        match method.as_ref() {
            "panic-at-once" => panic!("at once"),
            "panic-later" => async {
                tokio::task::yield_now().await;
                panic!("later")
            }
            .boxed(),
            "silence" => ready(Ok(None)).boxed(),
            _ => {
                let params = params.unwrap_or(Value::Null);
                ready(Ok(id.map(|id| Response::from_ok(id, params).into()))).boxed()
            }
        }
    }
}

fn guard() -> Lifecycle<Odd> {
    Lifecycle::new(Odd, Log::unread())
}

async fn running() -> Lifecycle<Odd> {
    let mut guard = guard();
    ask(&mut guard, "initialize").await.unwrap();
    guard
}

/// The result, or the code of the error.
async fn ask(guard: &mut Lifecycle<Odd>, method: &'static str) -> Result<Value, i64> {
    let request = Request::build(method)
        .id(1)
        .params(json!({"processId": 7}))
        .finish();
    let response = guard
        .call(request)
        .await
        .unwrap()
        .expect("every request has an answer");
    let Reply::Usual(response) = response else {
        panic!("nothing here is large");
    };
    assert_eq!(response.id(), &Id::Number(1));
    response.into_parts().1.map_err(|error| error.code.code())
}

async fn tell(guard: &mut Lifecycle<Odd>, method: &'static str) {
    let answered = guard.call(Request::build(method).finish()).await;
    assert!(matches!(answered, Ok(None)), "{answered:?}");
}

#[tokio::test]
async fn nothing_is_answered_before_initialize() {
    let mut guard = guard();
    assert_eq!(ask(&mut guard, "good").await, Err(-32002));
    assert_eq!(ask(&mut guard, "shutdown").await, Err(-32002));
    tell(&mut guard, "panic-at-once").await;
    ask(&mut guard, "initialize").await.unwrap();
    assert!(ask(&mut guard, "good").await.is_ok());
}

#[tokio::test]
async fn nothing_is_answered_after_shutdown() {
    let mut guard = running().await;
    assert_eq!(
        ask(&mut guard, "shutdown").await,
        Ok(Value::Null),
        "shutdown goes on without parameters"
    );
    assert_eq!(ask(&mut guard, "good").await, Err(-32600));
    assert_eq!(ask(&mut guard, "initialize").await, Err(-32600));
    assert_eq!(ask(&mut guard, "shutdown").await, Err(-32600));
    tell(&mut guard, "panic-at-once").await;
}

#[tokio::test]
async fn exit_is_clean_only_after_shutdown() {
    let mut guard = running().await;
    assert_eq!(
        (guard.exit_code(), guard.exit_code_at_end_of_input()),
        (None, 1)
    );
    tell(&mut guard, "exit").await;
    assert_eq!(guard.exit_code(), Some(1));

    let mut guard = running().await;
    ask(&mut guard, "shutdown").await.unwrap();
    assert_eq!(guard.exit_code_at_end_of_input(), 0);
    tell(&mut guard, "exit").await;
    assert_eq!(guard.exit_code(), Some(0));
}

#[tokio::test]
async fn a_panic_is_an_answer() {
    let mut guard = running().await;
    for method in ["panic-at-once", "panic-later"] {
        assert_eq!(ask(&mut guard, method).await, Err(-32603));
        tell(&mut guard, method).await;
        assert!(ask(&mut guard, "good").await.is_ok());
    }
}

#[tokio::test]
async fn silence_is_an_unknown_method() {
    let mut guard = running().await;
    assert_eq!(ask(&mut guard, "silence").await, Err(-32601));
    tell(&mut guard, "silence").await;
}

#[tokio::test]
async fn the_client_process_is_read_from_initialize() {
    assert_eq!(guard().client_process(), None);
    let own = std::process::id();
    let mut guard = guard();
    let params = json!({"processId": own});
    guard
        .call(Request::build("initialize").id(1).params(params).finish())
        .await
        .unwrap();
    assert_eq!(guard.client_process(), Process::see(own));
}
