import { defineConfig } from 'vitest/config'

export default defineConfig({
  resolve: { conditions: ['duskwork-source'] },
  ssr: { resolve: { conditions: ['duskwork-source'] } },
  test: {
    setupFiles: ['test/setup.ts'],
    include: ['src/**/*.test.ts', 'test/**/*.test.ts'],
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // Two cores: more workers only fight for them.
    maxWorkers: 2,
  },
})
