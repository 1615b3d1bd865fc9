// Colours: bright, dark or as the device. And mends what the theme leaves out for the keyboard: its menu and search buttons are labels, which no key reaches. Without
// this script the labels stay as they are.

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

/** Called once. */
export function beginTheme() {
  beginColours();
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
