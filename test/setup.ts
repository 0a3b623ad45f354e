import fc from 'fast-check'

/**
 * Property tests draw the same cases on every run, so that a red run is a change's and can be run again. To search
 * further: DUSKWORK_SEED=12345 npm test, with any number; a failure prints the case.
 */
fc.configureGlobal({ seed: Number(process.env['DUSKWORK_SEED'] ?? 20270209) })
