import { createRoot } from 'react-dom/client'
import { App } from './app.tsx'
import { putForm, readForm } from './form.ts'
import { StoreProvider } from './store.tsx'

putForm(readForm())
createRoot(document.getElementById('page')!).render(
  <StoreProvider>
    <App />
  </StoreProvider>,
)
