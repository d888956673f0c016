// Fetches the page again when something was entered, and says when nobody answers.
const age = () => document.getElementById("age");
const refresh = async () => {
  const answer = await fetch("/", { cache: "no-store" });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  document.body.replaceWith(page.body);
};
const changes = new EventSource("/changes");
changes.onmessage = () => refresh().catch(() => { age().textContent = "not up to date: nobody answers"; });
changes.onerror = () => { age().textContent = "not up to date: nobody answers"; };
changes.onopen = () => refresh().catch(() => {});
