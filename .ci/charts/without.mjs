// What the charts do without, and what stands for it. Plot's core imports maps, legends, colour
// schemes, tips and histograms whether a chart has any or not; each of those files is
// replaced by the least that the core asks of it when there is none.
const never = (name) => `const ${name} = () => { throw new Error("the charts were made without ${name}"); };`;
const gone = (...names) => names.map((n) => `export ${never(n)}`).join("\n");

export const without = {
  // Maps.
  "projection.js": `
    import {valueObject} from "./channel.js";
    import {coerceNumbers} from "./options.js";
    export const createProjection = () => undefined;
    export const hasProjection = () => false;
    export const projectionAspectRatio = () => undefined;
    ${gone("project", "getGeometryChannels", "xyProjection")}
    export function applyPosition({x, y}, scales) {
      const position = valueObject({...(x && {x}), ...(y && {y})}, scales);
      if (x) position.x = coerceNumbers(position.x);
      if (y) position.y = coerceNumbers(position.y);
      return position;
    }`,
  // Legends: series carry their names beside them.
  "legends.js": `
    export const exposeLegends = () => () => undefined;
    export const createLegends = () => [];`,
  // Colour schemes: colours come from the style sheet.
  "scales/schemes.js": `
    export const isCategoricalScheme = () => false, isDivergingScheme = () => false;
    ${gone("ordinalScheme", "ordinalRange", "maybeBooleanRange", "quantitativeScheme")}`,
  "scales/diverging.js": gone("createScaleDiverging", "createScaleDivergingSqrt", "createScaleDivergingPow", "createScaleDivergingLog", "createScaleDivergingSymlog"),
  // Pointing and its tips.
  "marks/tip.js": gone("tip"),
  "interactions/pointer.js": gone("pointer", "pointerX", "pointerY"),
  // Counting into bins, and stacking: areas are given both edges.
  "transforms/bin.js": `
    export const maybeDenseIntervalX = (o = {}) => o, maybeDenseIntervalY = (o = {}) => o;`,
  "transforms/stack.js": `
    export const maybeStackX = (o = {}) => o, maybeStackY = (o = {}) => o;`,
  // Curves but straight and stepped lines, symbols but the circle and the diamond.
  "curve.js": `
    import {curveLinear, curveStepAfter} from "d3";
    export const maybeCurve = (c = curveLinear) => c === "step-after" ? curveStepAfter : curveLinear;
    export const maybeCurveAuto = maybeCurve, curveAuto = curveLinear;`,
  "symbol.js": `
    import {symbolCircle, symbolDiamond} from "d3";
    const symbols = {circle: symbolCircle, diamond: symbolDiamond};
    export const sqrt3 = Math.sqrt(3), sqrt4_3 = 2 / sqrt3;
    export const isSymbol = (v) => typeof v?.draw === "function" || Object.hasOwn(symbols, v);
    export const maybeSymbol = (v) => symbols[v] ?? v;
    export const maybeSymbolChannel = (v) => v == null || v.draw ? [undefined, v] : symbols[v] ? [undefined, symbols[v]] : [v, undefined];`,
  // Arrows on axes.
  "marks/vector.js": gone("vectorX", "vectorY"),
};

// d3 without its maps; its curves and interpolations fall out by themselves.
export const withoutD3 = {"d3-geo": `export ${never("geoPath")}`};
