// What a person, a keyboard or a screen reader would trip over in the page that is open. Each function gives a list
// of faults in words; an empty list is a good page. Evaluated in the page by the tests.
({
  // ---- ids and links ---------------------------------------------------------------------------------
  ids() {
    const seen = new Map();
    for (const one of document.querySelectorAll("[id]")) seen.set(one.id, (seen.get(one.id) || 0) + 1);
    return [...seen].filter(([, count]) => count > 1).map(([id, count]) => `${count} times id ${id}`);
  },

  // Links within the page, and whatever else points at an id; `outside` allows links to other files.
  links({ outside }) {
    const faults = [];
    const known = (id, by) => { if (!document.getElementById(id)) faults.push(`${by} leads to no #${id}`); };
    for (const one of document.querySelectorAll("a")) {
      const to = one.getAttribute("href") ?? one.getAttribute("xlink:href");
      if (to === null) faults.push(`a link without href: ${one.textContent.trim()}`);
      else if (to.startsWith("#")) known(decodeURIComponent(to.slice(1)), `link ${one.textContent.trim()}`);
      else if (!outside || !/^[\w.%~()-]+\.html(#.*)?$/.test(to)) faults.push(`leads outside: ${to}`);
    }
    for (const name of ["aria-labelledby", "aria-describedby", "aria-controls", "headers", "for"])
      for (const one of document.querySelectorAll(`[${name}]`))
        for (const id of one.getAttribute(name).split(/\s+/).filter(Boolean)) known(id, name);
    for (const one of document.querySelectorAll("svg *"))
      for (const { name, value } of one.attributes) {
        for (const [, id] of value.matchAll(/url\(["']?#([^"')]+)["']?\)/g)) known(id, `${one.tagName} ${name}`);
        if (one.tagName === "use" && /href$/.test(name)) known(value.slice(1), "use");
      }
    return [...new Set(faults)];
  },

  // ---- room ------------------------------------------------------------------------------------------
  sideways() {
    const root = document.documentElement;
    if (root.scrollWidth <= root.clientWidth) return [];
    const wide = [...document.body.querySelectorAll("*")].filter((one) => {
      if (one.getBoundingClientRect().right <= root.clientWidth + 0.5) return false;
      for (let at = one; at; at = at.parentElement) if (getComputedStyle(at).overflowX !== "visible") return false;
      return true;
    });
    return [`${root.scrollWidth} px in ${root.clientWidth} px`, ...wide.slice(0, 5).map((one) => this.place(one))];
  },

  // Words that lie on other words, in the page and in each picture.
  overlaps() {
    const boxes = [];
    for (const node of this.texts()) {
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const box of range.getClientRects()) {
        // A line's box is higher than its letters; lines that only touch are no fault.
        const [less, side] = [box.height * 0.25, 1];
        if (box.width > 2 * side && box.height > 2)
          boxes.push({ top: box.top + less, bottom: box.bottom - less, left: box.left + side, right: box.right - side, node });
      }
    }
    boxes.sort((one, other) => one.top - other.top);
    const faults = [];
    for (let at = 0; at < boxes.length && faults.length < 10; at++)
      for (let next = at + 1; next < boxes.length && boxes[next].top < boxes[at].bottom; next++) {
        const [one, other] = [boxes[at], boxes[next]];
        if (one.node !== other.node && one.left < other.right && other.left < one.right)
          faults.push(`“${one.node.data.trim()}” and “${other.node.data.trim()}”`);
      }
    return faults;
  },

  // ---- structure -------------------------------------------------------------------------------------
  headings() {
    const faults = [];
    const found = [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")].filter((one) => one.checkVisibility());
    const levels = found.map((one) => Number(one.tagName[1]));
    if (levels[0] !== 1 || levels.filter((one) => one === 1).length !== 1) faults.push(`h1: ${levels.join(" ")}`);
    found.forEach((one, at) => {
      if (!one.textContent.trim()) faults.push("an empty heading");
      if (at && levels[at] > levels[at - 1] + 1) faults.push(`h${levels[at]} after h${levels[at - 1]}: ${one.textContent}`);
    });
    return faults;
  },

  tables() {
    const faults = [];
    for (const one of document.querySelectorAll("table")) {
      const name = one.caption?.textContent.trim() || one.rows[0]?.textContent.trim().slice(0, 60);
      if (!one.caption?.textContent.trim() && !one.hasAttribute("aria-labelledby") && !one.hasAttribute("aria-label"))
        faults.push(`no caption: ${name}`);
      if (!one.tHead) faults.push(`no head: ${name}`);
      for (const cell of one.querySelectorAll("th")) if (!cell.scope) faults.push(`th without scope: ${name}`);
      if (!one.querySelector("th[scope=col]")) faults.push(`no column is named: ${name}`);
      const widths = new Set([...one.rows].map((row) => [...row.cells].reduce((sum, cell) => sum + cell.colSpan, 0)));
      if (widths.size > 1 && ![...one.querySelectorAll("[rowspan]")].length) faults.push(`rows of ${[...widths]} cells: ${name}`);
    }
    return [...new Set(faults)];
  },

  pictures() {
    const faults = [];
    for (const one of document.querySelectorAll("svg")) {
      // With links in it only the drawn part is the image: an image has no links for who listens.
      const image = one.matches("[role=img]") ? one : one.querySelector(":scope > g[role=img]");
      const named = (image?.getAttribute("aria-labelledby") || "").split(/\s+/).map((id) => document.getElementById(id)?.textContent.trim());
      if (!image) faults.push(`${this.place(one)}: no role`);
      if (!named.length || !named.every(Boolean)) faults.push(`${this.place(one)}: no name`);
      if (one.querySelector("image, foreignObject, script")) faults.push(`${this.place(one)}: more than lines and text`);
    }
    for (const one of document.querySelectorAll("img")) {
      if (!one.alt.trim()) faults.push(`${this.place(one)}: no words for it`);
      if (!one.complete || !one.naturalWidth) faults.push(`${this.place(one)}: not shown`);
    }
    return faults;
  },

  // Everything a keyboard reaches shows that it is reached.
  focus() {
    const faults = [];
    for (const one of document.querySelectorAll("a[href], button, input, select, summary, [tabindex]")) {
      if (one.tabIndex < 0 || !one.checkVisibility()) continue;
      one.focus({ focusVisible: true, preventScroll: true });
      if (document.activeElement !== one) { faults.push(`not reached: ${this.place(one)}`); continue; }
      const style = getComputedStyle(one);
      if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) faults.push(`not shown: ${this.place(one)}`);
      if (one.tabIndex > 0) faults.push(`out of turn: ${this.place(one)}`);
    }
    document.activeElement.blur();
    return [...new Set(faults)];
  },

  // ---- contrast --------------------------------------------------------------------------------------
  // WCAG 2.2 (W3C Recommendation 2023-10-05), success criterion 1.4.3, with its definitions of contrast ratio and
  // relative luminance. What lies behind words in a picture is what was drawn there before them.
  contrast({ least }) {
    const faults = new Map();
    for (const node of this.texts()) {
      const one = node.parentElement;
      const paper = this.behind(one);
      if (!paper) { faults.set(this.place(one), "an image lies behind"); continue; }
      const ink = this.over(this.ink(one), paper);
      const ratio = this.ratio(ink, paper);
      if (ratio < least) faults.set(`${this.place(one)} “${node.data.trim().slice(0, 30)}”`, `${ratio.toFixed(2)} (${ink.map(Math.round)} on ${paper.map(Math.round)})`);
    }
    return [...faults].slice(0, 20).map(([where, what]) => `${where}: ${what}`);
  },

  ratio(one, other) {
    const light = ([red, green, blue]) => {
      const [r, g, b] = [red, green, blue].map((part) => part / 255).map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const [dark, bright] = [light(one), light(other)].sort((a, b) => a - b);
    return (bright + 0.05) / (dark + 0.05);
  },

  ink(one) {
    const style = getComputedStyle(one);
    const drawn = one instanceof SVGElement;
    const color = this.color(drawn ? style.fill : style.color);
    color[3] *= drawn ? Number(style.fillOpacity) : 1;
    for (let at = one; at; at = at.parentElement) color[3] *= Number(getComputedStyle(at).opacity);
    return color;
  },

  behind(one) {
    const layers = [];
    for (let at = one; at; at = at.parentElement) {
      const style = getComputedStyle(at);
      if (!(at instanceof SVGElement) || at.tagName === "svg") {
        if (style.backgroundImage !== "none") return null;
        layers.unshift(this.color(style.backgroundColor));
      }
    }
    const picture = one.closest("svg");
    if (picture) {
      const box = one.getBoundingClientRect();
      const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
      for (const shape of picture.querySelectorAll("rect, path, circle, ellipse, polygon")) {
        if (one.compareDocumentPosition(shape) & Node.DOCUMENT_POSITION_FOLLOWING) break;
        if (shape.closest("defs, clipPath") || !shape.checkVisibility()) continue;
        const point = new DOMPoint(x, y).matrixTransform(shape.getScreenCTM().inverse());
        if (getComputedStyle(shape).fill !== "none" && shape.isPointInFill(point)) layers.push(this.ink(shape));
      }
    }
    const canvas = matchMedia("(prefers-color-scheme: dark)").matches && !matchMedia("print").matches ? [18, 18, 18] : [255, 255, 255];
    return layers.reduce((below, above) => this.over(above, below), canvas);
  },

  over([red, green, blue, share], below) {
    return [red, green, blue].map((part, at) => part * share + below[at] * (1 - share));
  },

  // Any colour of CSS as red, green, blue and how much it covers.
  color(text) {
    this.known ??= new Map();
    if (!this.known.has(text)) {
      this.brush ??= new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
      this.brush.clearRect(0, 0, 1, 1);
      this.brush.fillStyle = text;
      this.brush.fillRect(0, 0, 1, 1);
      const [red, green, blue, share] = this.brush.getImageData(0, 0, 1, 1).data;
      this.known.set(text, [red, green, blue, share / 255]);
    }
    return [...this.known.get(text)];
  },

  // ---- shared ----------------------------------------------------------------------------------------
  texts() {
    const found = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const one = walker.currentNode.parentElement;
      if (walker.currentNode.data.trim() && !one.closest("style, script, title, desc, defs") && one.checkVisibility({ visibilityProperty: true, opacityProperty: true }))
        found.push(walker.currentNode);
    }
    return found;
  },

  place(one) {
    const steps = [];
    for (let at = one; at && at !== document.body && steps.length < 4; at = at.parentElement)
      steps.unshift(at.tagName.toLowerCase() + (at.id ? `#${at.id}` : "") + (at.getAttribute("class") ? `.${at.getAttribute("class").replaceAll(" ", ".")}` : ""));
    return steps.join(" > ");
  },
})
