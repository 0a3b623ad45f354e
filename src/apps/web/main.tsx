import { createRoot } from 'react-dom/client'

createRoot(document.getElementById('page')!).render(<p>Hello</p>)
