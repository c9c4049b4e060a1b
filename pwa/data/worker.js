/** The worker from the page's side: registration, update by consent, and whether it can start this page alone. */

const PATIENCE = 3000;

/** Tells "newer" when a newer Yardtrue waits, "ready" when the worker becomes active. */
export class Worker extends EventTarget {
  /** @type {ServiceWorkerRegistration|null} */
  #registration = null;

  async start() {
    const container = navigator.serviceWorker;
    if (!container) return;
    let led = Boolean(container.controller);
    container.addEventListener("controllerchange", () => {
      if (led) location.reload();
      led = true;
    });
    this.#registration = await container.register("sw.js", { updateViaCache: "none" });
    this.#watch(this.#registration);
    await this.look();
  }

  #watch(registration) {
    if (registration.waiting && registration.active) this.#tell("newer");
    this.#follow(registration.installing);
    registration.addEventListener("updatefound", () => this.#follow(registration.installing));
  }

  #follow(worker) {
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && this.#registration?.active) this.#tell("newer");
      if (worker.state === "activated") this.#tell("ready");
    });
  }

  #tell(name) {
    this.dispatchEvent(new Event(name));
  }

  /** Look for a newer Yardtrue now, and not when the browser comes round to it; no signal is no fault. */
  async look() {
    await this.#registration?.update().catch(() => undefined);
  }

  /** The person said yes: the waiting worker takes over and the page starts anew. */
  take() {
    this.#registration?.waiting?.postMessage("take over");
  }

  /** True only when an activated worker answers that every file of its own version is in its cache. */
  async whole() {
    const registration = await navigator.serviceWorker?.getRegistration().catch(() => undefined); // a page that is being left has none
    const active = registration?.active;
    if (active?.state !== "activated") return false;
    return asked(active, "whole?");
  }
}

function asked(worker, question) {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => resolve(event.data === true);
    setTimeout(() => resolve(false), PATIENCE);
    worker.postMessage(question, [port2]);
  });
}
