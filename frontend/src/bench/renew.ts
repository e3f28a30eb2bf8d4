// What is drawn again keeps the elements that are still wanted, so that no key and no press goes astray.

export type Handler = (event: Event) => void;

const ACTS = new WeakMap<Element, Map<string, Handler>>();

/** Listen, in such a way that what is done can be changed while the element stays. */
export function act(made: Element, name: string, handler: Handler): void {
  const held = ACTS.get(made) ?? new Map<string, Handler>();
  ACTS.set(made, held);
  if (!held.has(name)) made.addEventListener(name, (event) => ACTS.get(made)?.get(name)?.(event));
  held.set(name, handler);
}

const SAID = "BUTTON, A, SUMMARY";
const TYPED = "INPUT, SELECT, TEXTAREA";

/** What tells an element from its like. */
function nameOf(node: Node): string {
  if (!(node instanceof Element)) return "";
  const given = (node as HTMLElement).dataset?.key ?? (node.id || node.getAttribute("aria-label"));
  const label = (node as HTMLInputElement).labels?.[0]?.textContent;
  return given ?? label ?? (node.matches(SAID) ? (node.textContent ?? "") : "");
}

const same = (held: Node, fresh: Node): boolean =>
  held.nodeName === fresh.nodeName && nameOf(held) === nameOf(fresh) && !(held instanceof Element && held.matches(TYPED));

/** Make the children of an element these, and keep each of its own that is the same. */
export function match(parent: Element, fresh: Node[]): void {
  let at: ChildNode | null = parent.firstChild;
  for (const now of fresh) {
    let held: ChildNode | null = at;
    while (held && !same(held, now)) held = held.nextSibling;
    while (held && at !== held) {
      const gone: ChildNode = at!;
      at = gone.nextSibling;
      gone.remove();
    }
    if (held) {
      at = held.nextSibling;
      follow(held, now);
    } else parent.insertBefore(now, at);
  }
  while (at) {
    const gone: ChildNode = at;
    at = gone.nextSibling;
    gone.remove();
  }
}

function follow(held: Node, now: Node): void {
  if (held === now) return;
  if (!(held instanceof Element && now instanceof Element)) {
    if (held.nodeValue !== now.nodeValue) held.nodeValue = now.nodeValue;
    return;
  }
  for (const { name } of [...held.attributes]) if (!now.hasAttribute(name)) held.removeAttribute(name);
  for (const { name, value } of [...now.attributes]) if (held.getAttribute(name) !== value) held.setAttribute(name, value);
  const acts = ACTS.get(now);
  ACTS.get(held)?.forEach((_, name) => acts?.has(name) || ACTS.get(held)!.set(name, () => undefined));
  acts?.forEach((handler, name) => act(held, name, handler));
  match(held, [...now.childNodes]);
}

/** Remember what has the focus within an element; the answer gives it back to its like. */
export function focusOf(parent: Element): () => void {
  const active = document.activeElement;
  if (!(active instanceof HTMLElement) || active === parent || !parent.contains(active)) return () => undefined;
  const name = nameOf(active);
  const likes = (): HTMLElement[] => [...parent.querySelectorAll<HTMLElement>(active.tagName)].filter((one) => nameOf(one) === name);
  const number = likes().indexOf(active);
  const field = active.matches("input[type=text], textarea") ? (active as HTMLInputElement) : null;
  const [start, end] = [field?.selectionStart ?? null, field?.selectionEnd ?? null];
  return () => {
    if (document.activeElement === active || !name) return;
    const like = likes()[number];
    like?.focus({ preventScroll: true });
    if (!field || !like) return;
    (like as HTMLInputElement).value ||= field.value; // what was being typed
    (like as HTMLInputElement).setSelectionRange(start, end);
  };
}
