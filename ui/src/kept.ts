/** Lets the service worker keep the last seen pages, where the address allows one. */

export function keepPages(): void {
  if (!isSecureContext || !("serviceWorker" in navigator)) return;
  navigator.serviceWorker.register("/sw.js").catch((problem) => console.warn("guidecoat: pages are not kept", problem));
}
