// Mends what the theme leaves out for the keyboard: its menu and search buttons are labels, which no key reaches. Without
// this script the labels stay as they are.

const NAMES = { __drawer: "Menu", __search: "Search" };

/** Called once. */
export function beginTheme() {
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
