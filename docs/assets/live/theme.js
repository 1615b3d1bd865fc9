// Colours: bright, dark or as the device. The theme's script, when somebody searches. And what the theme leaves out for the keyboard:
// its menu and search buttons are labels, which no key reaches; without this script they stay so.

const NAMES = { __drawer: "Menu", __search: "Search" };

const COLOURS = {
  device: "Colours follow the device; switch to bright",
  bright: "Bright colours; switch to dark",
  dark: "Dark colours; switch to those of the device",
};
const KEPT = "loftbook.colours"; // read by the page's head too

/** The button goes round the three; where nothing is kept the choice lasts as long as the page. */
function beginColours() {
  const button = document.querySelector(".loft-colours");
  const device = matchMedia("(prefers-color-scheme: dark)");
  let chosen = "device";
  try {
    chosen = localStorage.getItem(KEPT) || "device";
  } catch {} // storage is denied
  const show = () => {
    chosen = chosen in COLOURS ? chosen : "device";
    const scheme = (chosen === "device" ? device.matches : chosen === "dark") ? "slate" : "default";
    if (document.body.dataset.mdColorScheme !== scheme) document.body.dataset.mdColorScheme = scheme;
    button.dataset.colours = chosen;
    button.setAttribute("aria-label", COLOURS[chosen]);
    button.title = COLOURS[chosen];
  };
  button.addEventListener("click", () => {
    const names = Object.keys(COLOURS);
    chosen = names[(names.indexOf(chosen) + 1) % names.length];
    show();
    try {
      localStorage.setItem(KEPT, chosen === "device" ? "" : chosen);
    } catch {} // storage is denied
  });
  device.addEventListener("change", show);
  show();
}

/** The theme's script runs from the moment somebody searches: it would lay out every page anew for nothing else. */
function beginSearch() {
  const kept = document.getElementById("loft-search-script");
  const toggle = document.getElementById("__search");
  const addresses = [...kept.content.querySelectorAll("script")].map(({ src }) => src); // now: they are as seen from this page
  const run = () => {
    const typed = document.querySelector(".md-search__input");
    const onload = () => typed?.value && typed.dispatchEvent(new Event("keyup", { bubbles: true })); // what was typed before it listened
    for (const src of addresses) document.body.append(Object.assign(document.createElement("script"), { src, onload }));
    kept.remove();
  };
  const once = () => kept.isConnected && run();
  toggle?.addEventListener("change", once);
  document.querySelector(".md-search")?.addEventListener("focusin", once);
  addEventListener("keydown", (event) => {
    const typing = event.target.matches?.("input, select, textarea");
    if (!kept.isConnected || typing || event.ctrlKey || event.metaKey || event.altKey || !["/", "f", "s"].includes(event.key)) return;
    event.preventDefault();
    document.querySelector(".md-search__input")?.focus();
    if (!toggle.checked) toggle.click();
  });
}

/** Called once. */
export function beginTheme() {
  beginColours();
  beginSearch();
  for (const [id, name] of Object.entries(NAMES)) {
    const label = document.querySelector(`label.md-header__button[for="${id}"]`);
    const toggle = document.getElementById(id);
    if (!label || !toggle) continue;
    const button = document.createElement("button");
    button.type = "button";
    button.className = `${label.className} loft-toggle${id}`;
    button.setAttribute("aria-label", name);
    button.append(...label.childNodes);
    const tell = () => button.setAttribute("aria-expanded", String(toggle.checked));
    button.addEventListener("click", () => toggle.click());
    toggle.addEventListener("change", tell);
    tell();
    label.replaceWith(button);
  }
  addEventListener("keydown", ({ key }) => {
    const drawer = document.getElementById("__drawer");
    if (key === "Escape" && drawer?.checked) drawer.click();
  });
}
