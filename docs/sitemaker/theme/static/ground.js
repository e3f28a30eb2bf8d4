// Light or dark: as the system has it, until the reader says otherwise. And the contents of wide windows.
const button = document.querySelector("button.ground");
const system = matchMedia("(prefers-color-scheme: dark)");
const isDark = () => (document.documentElement.dataset.ground || (system.matches ? "dark" : "light")) === "dark";
const told = () => {
  button.textContent = isDark() ? "Light" : "Dark";
  button.setAttribute("aria-label", isDark() ? "Use the light page" : "Use the dark page");
};
button.addEventListener("click", () => {
  const next = isDark() ? "light" : "dark";
  document.documentElement.dataset.ground = next;
  localStorage.setItem("ground", next);
  told();
});
system.addEventListener("change", told);
told();
const contents = document.querySelector("nav.contents details");
const wide = matchMedia("(min-width: 60rem)");
const opened = () => { contents.open = wide.matches; };
wide.addEventListener("change", opened);
opened();
