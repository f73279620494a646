// Finds text whose contrast with what is behind it is under WCAG 2.2 AA. Returns one line for each.
() => {
  const channel = (value) => {
    const part = value / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  };
  const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const parse = (text) => {
    const found = text.match(/rgba?\(([^)]+)\)/);
    if (!found) return null;
    const parts = found[1].split(/[,\s/]+/).map(Number);
    return { colour: parts.slice(0, 3), alpha: parts.length > 3 ? parts[3] : 1 };
  };
  const behind = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const ground = parse(getComputedStyle(at).backgroundColor);
      if (ground && ground.alpha === 1) return ground.colour;
    }
    return [255, 255, 255];
  };
  const lines = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.textContent.trim();
    const element = walker.currentNode.parentElement;
    if (!text || element.closest("svg, script, noscript, [disabled], option")) continue;
    const box = element.getBoundingClientRect();
    if (box.width < 2 || box.height < 2 || box.right < 0) continue;
    const style = getComputedStyle(element);
    if (style.visibility === "hidden") continue;
    const ink = parse(style.color);
    const [high, low] = [luminance(ink.colour), luminance(behind(element))].sort((a, b) => b - a);
    const ratio = (high + 0.05) / (low + 0.05);
    const size = parseFloat(style.fontSize);
    const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
    if (ratio < (large ? 3 : 4.5)) lines.push(`${ratio.toFixed(2)} ${element.className} "${text.slice(0, 40)}"`);
  }
  return [...new Set(lines)];
}
