package feeds

// examples are what the form of something new begins with.
var examples = map[string]string{
	"rule": `# A rule of your own. Lines that begin with # are for you alone.
rules:
  - id: my-moss                  # a name of your own: small letters, digits, hyphens
    work: mist-moss              # a work: one of those that there are, or your own, below
    for: {groups: [deciduous], stages: [refining, exhibition]}   # for which trees; leave it out for all
    opens: {at: phase, phase: bud-swell}
    closes: {at: phase, phase: leaf-out, days: 14}
    every: 3                     # days; leave it out for once a season
    minutes: 5
    cautions: [my-moss-caution]
    not: The moss is frozen.
    why: Moss settles while the surface stays moist.
    source: common practice, no published source
works:
  - {id: mist-moss, title: Mist the moss, class: foliage}
cautions:
  - {id: my-moss-caution, text: Use rain water.}
`,
	"caution": `# A caution shows wherever works of its classes, or those that it names, show.
cautions:
  - id: my-caution               # a name of your own: small letters, digits, hyphens
    works: [collect]             # or classes: [roots, branches, health]
    # region: our valley         # where it holds; leave it out for everywhere
    text: Ask at the forest office before you dig.
`,
	"species": `# A species that is not known here yet. What you do not know, leave out: the plan is then careful.
species:
  - name: Toona sinensis         # its accepted botanical name
    common: [Chinese cedrela]
    group: deciduous
    flush: late                  # very-early, early, middle, late or very-late
    repot: {young: 1, building: 2, refined: 3}   # growing seasons between repots
    source: from memory
`,
}
