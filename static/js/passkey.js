/* Asks the device for a passkey, or to make one, and sends what it answers with the form. WebAuthn level 2, chapters 5 and 6. */

const BYTES = ["challenge", "id"]; // of what the site hands over, these are bytes in base64url

export const toBytes = (text) => {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
};

export const toText = (bytes) =>
  btoa(String.fromCharCode(...new Uint8Array(bytes)))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replaceAll("=", "");

const withBytes = (given) => {
  const taken = { ...given };
  for (const name of BYTES) if (typeof taken[name] === "string") taken[name] = toBytes(taken[name]);
  return taken;
};

export const asked = (options) => {
  const taken = withBytes(options);
  if (taken.user) taken.user = withBytes(taken.user);
  for (const list of ["excludeCredentials", "allowCredentials"]) if (taken[list]) taken[list] = taken[list].map(withBytes);
  return taken;
};

export const answered = (credential) => {
  const { response } = credential;
  const said = {};
  for (const name of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (response[name]) said[name] = toText(response[name]);
  }
  return { id: credential.id, rawId: toText(credential.rawId), type: credential.type, response: said };
};

const show = (form, which) => {
  for (const name of ["failed", "missing"]) form.querySelector(`[data-passkey-${name}]`).hidden = name !== which;
};

const attend = (form, options) => {
  const ask = async () => {
    show(form, "");
    if (!window.PublicKeyCredential) {
      show(form, "missing");
      return;
    }
    try {
      const credential = await navigator.credentials[form.dataset.passkey]({ publicKey: asked(options) });
      form.elements.passkey.value = JSON.stringify(answered(credential));
    } catch {
      show(form, "failed"); // turned away, too late, or a key that is here already
      return;
    }
    form.requestSubmit();
  };
  form.querySelector("[data-passkey-ask]").addEventListener("click", ask);
};

if (typeof document !== "undefined") {
  const form = document.querySelector("form[data-passkey]");
  const options = document.getElementById("passkey-options");
  if (form && options) attend(form, JSON.parse(options.textContent));
}
