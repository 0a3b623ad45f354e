export { renderDemoReport } from './demo-report.ts'
