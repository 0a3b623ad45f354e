// The walls of the house (docs/architecture.md), checked on every run: floors, doors, no cycles, one room a library,
// no Node below apps. `import type` counts. A reverse import fails even when it is only a type.

/** Tests, benches and their made inputs may use Node and any library; doors and floors hold for them too. */
const TESTS = '\\.(test|bench|fixture)\\.tsx?$'
const ROOM = '^src/([^/]+)/([^/]+)/'

const floors = ['core', 'plan', 'picture', 'jobs', 'apps']
const floorRules = floors.slice(0, -1).map((floor, i) => ({
  name: `floor-${floor}`,
  comment: `${floor} may not know the floors above it.`,
  severity: 'error',
  from: { path: `^src/${floor}/` },
  to: { path: `^src/(${floors.slice(i + 1).join('|')})/` },
}))

/** Each library has one home. */
const homes = {
  sharp: '^src/apps/io/',
  commander: '^src/apps/cli/',
  zod: '^src/jobs/schemas/',
  saxes: '^src/core/formats/',
  fflate: '^src/core/formats/',
  'astronomy-engine': '^src/plan/sky/',
  '@photostructure/tz-lookup': '^src/plan/sky/',
  'geographiclib-geodesic': '^src/plan/flight/',
  hono: '^src/apps/server/',
  '@hono/node-server': '^src/apps/server/',
  react: '^src/apps/web/',
  'react-dom': '^src/apps/web/',
}
const homeRules = Object.entries(homes).map(([library, home]) => ({
  name: `home-of-${library}`,
  comment: `${library} is imported in one room only: ${home}`,
  severity: 'error',
  from: { path: '^(src|bin)/', pathNot: [home, TESTS] },
  to: { path: `^node_modules/${library}/` },
}))

module.exports = {
  forbidden: [
    ...floorRules,
    ...homeRules,
    {
      name: 'library-without-a-home',
      comment: 'A library that the program uses needs a room of its own in .dependency-cruiser.cjs.',
      severity: 'error',
      from: { path: '^src/', pathNot: TESTS },
      to: { path: '^node_modules/', pathNot: `^node_modules/(${Object.keys(homes).join('|')}|@types)/` },
    },
    {
      name: 'door',
      comment: 'A room is entered by its index.ts only.',
      severity: 'error',
      from: { path: ROOM },
      to: { path: ROOM, pathNot: ['^src/$1/$2/', '^src/[^/]+/[^/]+/index\\.ts$'] },
    },
    {
      name: 'door-of-the-jobs',
      comment: 'The use-cases are entered by src/jobs/index.ts only.',
      severity: 'error',
      from: { path: '^(src|test)/', pathNot: '^src/jobs/[^/]+\\.ts$' },
      to: { path: '^src/jobs/(?!index\\.ts$)[^/]+\\.ts$' },
    },
    {
      name: 'door-from-the-jobs',
      comment: 'A use-case enters rooms by their doors.',
      severity: 'error',
      from: { path: '^(src/jobs/[^/]+\\.ts$|test/)' },
      to: { path: ROOM, pathNot: '^src/[^/]+/[^/]+/index\\.ts$' },
    },
    {
      name: 'door-by-name',
      comment: 'Another room is imported as #floor/room, not by a path that climbs.',
      severity: 'error',
      from: { path: ROOM },
      to: { path: ROOM, pathNot: '^src/$1/$2/', dependencyTypesNot: ['aliased-subpath-import'] },
    },
    { name: 'cycle', comment: 'No circles, types included.', severity: 'error', from: {}, to: { circular: true } },
    {
      name: 'pure-floors',
      comment: 'core, plan, picture and jobs know no Node.',
      severity: 'error',
      from: { path: '^src/(core|plan|picture|jobs)/', pathNot: TESTS },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'page-runs-in-a-browser',
      comment: 'The page knows no Node, no server, no disk: only contracts and what is pure.',
      severity: 'error',
      from: { path: '^src/apps/web/', pathNot: TESTS },
      to: { path: '^(src/apps/(?!web/|report/)|src/picture/|src/jobs/(?!contract/|schemas/))' },
    },
    {
      name: 'page-without-node',
      comment: 'The page runs in a browser.',
      severity: 'error',
      from: { path: '^src/apps/web/', pathNot: TESTS },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'tests-stay-outside',
      comment: 'The program does not import its tests.',
      severity: 'error',
      from: { path: '^src/', pathNot: TESTS },
      to: { path: `^test/|${TESTS}` },
    },
    {
      name: 'fast-kernels-are-compiled',
      comment: 'A .kernel.ts file is AssemblyScript: it is compiled, never imported.',
      severity: 'error',
      from: { pathNot: '\\.kernel\\.ts$' },
      to: { path: '\\.kernel\\.ts$' },
    },
    {
      name: 'unresolved',
      comment: 'An import that leads nowhere.',
      severity: 'error',
      from: {},
      to: { couldNotResolve: true },
    },
  ],
  options: {
    doNotFollow: { path: '^node_modules/' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: {
      conditionNames: ['duskwork-source', 'import', 'node', 'default', 'types'],
      exportsFields: ['exports'],
      mainFields: ['module', 'main', 'types'],
      extensions: ['.ts', '.tsx', '.js', '.json'],
    },
  },
}
