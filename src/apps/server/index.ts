export { type Serving, type ServingOptions, startServer } from './serve.ts'
