// What is typed and not saved, kept by the tab: a page that is loaded again shows it again.

export type Typed = Record<string, string | null>;

export class Draft {
  private readonly name = `np-typed ${location.pathname}`;

  held(): Typed {
    try {
      const kept: unknown = JSON.parse(sessionStorage.getItem(this.name) ?? "{}");
      return typeof kept === "object" && kept !== null ? (kept as Typed) : {};
    } catch {
      return {}; // a browser that keeps nothing, or a text of another program
    }
  }

  keep(typed: Typed): void {
    try {
      if (Object.keys(typed).length) sessionStorage.setItem(this.name, JSON.stringify(typed));
      else sessionStorage.removeItem(this.name);
    } catch {
      // Nothing can be kept here: then what is typed lasts as long as the page.
    }
  }
}
