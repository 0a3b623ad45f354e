export { renderContactReport } from './contact-report.ts'
export { renderDemoReport } from './demo-report.ts'
export { renderEveningPage, renderLightPage } from './evening-page.ts'
export { renderFieldCard } from './field-card.ts'
